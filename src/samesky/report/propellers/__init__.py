"""How is propeller or pitch shown? In: what the settings of propellers tell. Out: sentences, a table, a figure."""
