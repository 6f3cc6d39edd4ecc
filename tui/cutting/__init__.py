"""Cutting on the screen: plans, cards with their picture, the offcut shelf."""
