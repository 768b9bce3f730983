"""Streams of events (server-sent events, as the HTML standard has them), in a process of their own.

A worker checks the request as any other, then hands the connection over (`link`) to the process
that has them all in one loop (`hub`), so that a stream holds up no thread of a worker.
"""
