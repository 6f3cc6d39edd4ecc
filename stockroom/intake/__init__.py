"""Files that people have, read into checked rows and named problems; nothing is stored here."""
