"""The store: tables on SQLite or PostgreSQL, written only by acts, checked when read."""
