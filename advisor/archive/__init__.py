"""Archives of reports: decoded by the chunk, rated by the season, on one machine or on several.

``decode`` turns raw reports into columns, ``season`` rates them and counts, ``source`` reads the files, ``cluster``
maps the same work over many machines. Only this package imports duckdb and distributed.
"""
