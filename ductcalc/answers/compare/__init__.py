"""Answers of `compare`."""
