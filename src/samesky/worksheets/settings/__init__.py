"""The pages on which entries of ``campaign.toml`` are changed."""
