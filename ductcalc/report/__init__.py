"""Answers as people and programs read them: text, CSV and JSON. Display units and digits only; computes nothing."""
