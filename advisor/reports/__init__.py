"""What stations said: typed reports, their decoders, fetching and keeping them.

Decoders take text; the fetcher returns text; neither does the other's work.
"""
