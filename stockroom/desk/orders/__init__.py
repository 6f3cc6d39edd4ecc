"""Orders: what to order by when, what is on its way, and what became of it."""
