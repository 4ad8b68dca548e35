"""Pages of orders: what is promised, how sure it is, handing over, repeating orders, birds kept back, customers."""
