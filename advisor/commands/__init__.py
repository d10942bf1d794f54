"""One module a command; each exposes a click command named ``command``."""
