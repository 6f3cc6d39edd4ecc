"""Papers: what is printed or taken along, gathered from the books."""
