"""Pages of housing: the list, one housing with its row of the board, its forms and its printed card."""
