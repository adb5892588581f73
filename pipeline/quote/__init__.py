"""The offer."""
