"""Condition: OK to print, strips, paper white, sheets looked over, lengths by tape."""
