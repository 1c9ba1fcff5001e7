"""Unasked warnings: small pure rules that see what is likely wrong in a shop, each with what would mend it."""
