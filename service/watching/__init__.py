"""Decisions kept under watch: looked at again when something may have changed, told when it has.

```
standing  how a decision stands, and what of that is worth telling
moments   when to look next                     told     the event as it is sent
look      one watch: decided anew -> what is to be written
crew      processes that look, each at a few watches at a time
fetches   reports of places under watch, from the configured source
watcher   who shares the work out               counts   what is counted
```
`python -m service.watching` is the process; the server begins it and keeps it running.
"""
