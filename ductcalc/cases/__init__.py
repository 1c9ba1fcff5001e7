"""Cases: what may be open together, solved, audited and judged; the one home of grades."""
