"""What is printed and taken to the aeroplane?

In: a plan. Out: test cards, HTML and PDF, with a blank for every reading.
"""
