"""Cutting: sheets, bars and rolls cut by plan, cards for the saw, the offcut shelf."""
