"""Orders on the screen: the list, one material by day, what is on its way."""
