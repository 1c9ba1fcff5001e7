"""The tables read back as a tree."""
