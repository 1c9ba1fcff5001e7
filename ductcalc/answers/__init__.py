"""Questions a person asks: each a pure function from a shop to a frozen answer."""
