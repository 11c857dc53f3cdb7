"""`superheard serve`: the pages for the phone and the office, and the HTTP interface."""

from __future__ import annotations

import sys
from contextlib import ExitStack, suppress

import click

from assistant.cli.options import settings_in_force, settings_options

EPILOG = """\b
Examples:
  superheard serve
  superheard serve --port 8700
  superheard serve --lan
  superheard serve --workers 2
  superheard serve --workers tcp://hub:8786

Alone it answers this machine and no other. --lan serves the local network over
HTTPS with a certificate of its own: each phone is paired once, with a code that
is shown here, and what it may do depends on its role. --workers has recordings
heard by other processes, or by the workers of a Dask scheduler, which trust
whoever reaches it: keep that network to yourself, or use tls://.
"""


@click.command(epilog=EPILOG, short_help="Serve the pages for the phone and the office.")
@click.option("--lan", is_flag=True, help="Serve paired phones on the local network too.")
@settings_options(
    shown=(
        "home",
        "port",
        "max_upload_mb",
        "max_photo_mb",
        "requests_per_minute",
        "device_days",
        "end_pause_s",
        "spoken_at_once",
        "workers",
        "model",
    )
)
def serve(lan: bool) -> None:
    """Serve the pages and the HTTP interface, to this machine or to the local network."""
    from api.app import create_app
    from api.serving import Serving, greeting, network_certificate, sockets_at
    from assistant.hear.elsewhere import elsewhere

    settings = settings_in_force()
    sockets = sockets_at(settings.port, lan)
    port = sockets[0].getsockname()[1]
    certificate = network_certificate(settings.home_folder()) if lan else None
    # KeyboardInterrupt is the usual way to stop it, and by then it has
    with ExitStack() as closing, suppress(KeyboardInterrupt):
        place = closing.enter_context(elsewhere(settings.workers)) if settings.workers else None
        app = create_app(settings, certificate=certificate, place=place)
        Serving(app, certificate, lambda: click.echo(greeting(app, port, sys.stdout.isatty()))).run(sockets)
