"""A season replayed: what the failures of an evening would have come to on every day of it.

Archived reports and a network of flights in, tables and figures out: how often each verdict, which
failures and places turn it, how much reserve buys what.
"""
