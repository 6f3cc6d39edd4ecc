"""What is in stock on the screen: units, one unit, its figures, and what is done to it."""
