"""Sweeps: many flights times many failures, in parts that are worked on anywhere.

A part is some rows of one flight. It is worked on in this process, in several, or on a cluster;
the rows are the same to the byte, and a part that is done twice counts once.
"""
