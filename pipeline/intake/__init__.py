"""Files to records."""
