"""Which one should I fly? Trade-offs over measures and missions."""
