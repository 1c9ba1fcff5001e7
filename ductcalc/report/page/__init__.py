"""The page that tells everything of a shop."""
