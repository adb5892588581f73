"""What a record is: models, word lists, rules between tables, shapes of results."""
