"""Stockroom: perishable materials for fine-art print finishing, kept honest."""

__version__ = "0.1.0"
