"""Feed and water of whole batches: what is used, how long it lasts, what to buy, what it costs, when meat may be eaten.

Days are a window: arrays by day, the first being `first_day`. Amounts are kg (or L) a day for all birds together.
"""
