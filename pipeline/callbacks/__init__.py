"""What comes back."""
