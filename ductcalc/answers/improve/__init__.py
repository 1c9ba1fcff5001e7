"""What to change first: every single change tried on the real model and ranked; the best pair and the best three."""
