"""One file per thing a user asks for."""
