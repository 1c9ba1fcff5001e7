"""A sizing as text, CSV and JSON."""
