"""Pages of feed: what is in the store and how long it lasts, what to buy, each feed's ledger, and days to wait."""
