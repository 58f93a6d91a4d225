"""What is each run worth under the same sky?

In: a campaign and one of its tables. Out: the value after each correction, and what each error source does to it.
"""
