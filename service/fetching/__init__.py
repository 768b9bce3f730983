"""Fetching of weather reports that a case lacks, from one configured source.

```
filling    a case's body -> the same body with what was fetched, and a note of each
fetcher    cache and single flight: who asks, who waits, what an older report is good for
source     one call: template -> retries in a breaker -> transport, then reading
template   the address and what may stand in it      transport  one GET, bounded in time and size
breaker    leaves a failing source alone             retry      second tries, within the deadline
cadence    when a newer report can be expected       cache      what came, by station and kind
reading    plain text -> raw reports                 deadline, failure   the words between them
```
Whatever goes wrong ends as a reason in plain words; nothing here raises into a decision.
"""
