"""What reports say."""
