"""Places and their climate on the screen: readings, warm spells, kinetic means."""
