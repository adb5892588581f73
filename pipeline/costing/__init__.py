"""What a job cost and earned."""
