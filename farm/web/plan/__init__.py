"""The plan: how many more would fit, what-if trials, and plans to adopt."""
