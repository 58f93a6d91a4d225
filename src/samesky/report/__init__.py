"""What do I show others? Figures and the self-contained page."""
