"""The shopping and cutting list as text, CSV and JSON."""
