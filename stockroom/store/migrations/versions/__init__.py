"""One module per schema change, oldest first."""
