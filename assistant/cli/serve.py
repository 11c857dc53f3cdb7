"""`superheard serve`: the pages for the phone and the office, from this machine."""

from __future__ import annotations

import click

from assistant.cli.options import settings_in_force, settings_options

EPILOG = """\b
Examples:
  superheard serve
  superheard serve --port 8700
"""


@click.command(epilog=EPILOG, short_help="Serve the pages for the phone and the office.")
@click.option("--port", type=click.IntRange(0, 65535), default=8642, show_default=True, help="0: any that is free.")
@settings_options(shown=("home",))
def serve(port: int) -> None:
    """Serve the pages and the HTTP interface, on this machine alone."""
    import uvicorn

    from api.app import create_app

    uvicorn.run(create_app(settings_in_force()), host="127.0.0.1", port=port, proxy_headers=False, server_header=False)
