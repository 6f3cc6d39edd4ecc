"""The books: acts in one chain, folded into what is where, what is left and what was lost."""
