"""What a collector must do as text, CSV and JSON."""
