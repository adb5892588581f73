"""Records to the book, and the book to named questions."""
