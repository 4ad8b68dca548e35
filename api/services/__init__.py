"""The verbs of tokens and webhooks."""
