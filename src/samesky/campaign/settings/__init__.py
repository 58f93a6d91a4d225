"""What do the entries of ``campaign.toml`` mean?

In: sections of the file. Out: the aeroplane, strips, measures, error sources, plan and film of the model.
"""
