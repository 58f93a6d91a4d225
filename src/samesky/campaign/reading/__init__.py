"""What did the pilot write down?

In: a folder. Out: a :class:`~samesky.campaign.model.campaign.campaign.Campaign` and every finding on the way.
"""
