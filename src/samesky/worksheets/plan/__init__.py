"""The pages of the plan, its cards and its rehearsal."""
