"""Would this plan find it? An aeroplane and a sky with known truth."""
