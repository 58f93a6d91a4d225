"""The pages on which runs are typed, pasted and changed."""
