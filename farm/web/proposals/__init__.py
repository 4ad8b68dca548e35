"""Pages of "What should I set next?": the question, a proposal with its adoption, and the rules behind it."""
