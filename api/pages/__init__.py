"""Pages about the API: tokens and webhooks."""
