"""The server: pages for the phone and the office, and the HTTP interface they stand on.

`api.app.create_app` builds it; importing opens nothing. `superheard serve` runs it.
"""
