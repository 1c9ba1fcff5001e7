"""The rules, a file for each matter that a person would look at."""
