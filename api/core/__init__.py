"""What every noun of the API shares: who asks, problems, versions, keys, pages of a list, the schema."""
