"""The shop with every coefficient decided: value, band, source and reason."""
