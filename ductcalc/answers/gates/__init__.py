"""Which gates may be open together: every gate set solved, and the advice that follows from all of them."""
