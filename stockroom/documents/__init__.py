"""Plans to bytes: labels, order lists and printed sheets; nothing here decides anything."""
