"""Pages of batches: the list, one batch with its life line and ledger, and the forms that write them."""
