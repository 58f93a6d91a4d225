"""What did the pilot write down? The model, reading, checking, reducing, templates."""
