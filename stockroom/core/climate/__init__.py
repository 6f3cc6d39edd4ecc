"""Readings, ageing by temperature, warm spells, and how a roll lags behind its room."""
