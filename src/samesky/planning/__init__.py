"""What should I fly on Saturday? Order, number of runs, limits, cards, rehearsal."""
