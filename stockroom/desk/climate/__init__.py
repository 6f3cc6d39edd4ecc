"""Climate: logger files, warm spells, the air of places, and how long a cold roll stands shut."""
