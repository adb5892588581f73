"""What an opening needs: geometry only."""
