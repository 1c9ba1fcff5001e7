"""What readings say of a shop, against calculation."""
