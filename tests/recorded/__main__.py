"""Record the decisions anew."""

from tests.recorded.keep import write

write()
