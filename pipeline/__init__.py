"""Job records in, three answers out: what made money, what the next opening takes, what brings a crew back."""
