"""What the next opening will take."""
