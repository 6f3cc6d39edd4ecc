"""Migrations of the schema, run from inside the package on SQLite and PostgreSQL."""
