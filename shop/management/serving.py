"""Serving the shop from this machine: the doors it listens at, and the names a tablet may call it by."""

import errno
import os
import socket
import sys
import threading
import webbrowser
from contextlib import suppress

from django.conf import settings
from django.core.management import CommandError
from waitress.server import BaseWSGIServer, MultiSocketServer, create_server

LIMITS = {"threads": 8, "max_request_body_size": 64 * 1024 * 1024, "ident": None}


def listen(host: str, port: int) -> "MultiSocketServer | BaseWSGIServer":
    """Take the port, so that a second start is refused before it touches the database."""
    from shop.wsgi import application

    try:
        return create_server(application, host=host, port=port, **LIMITS, **_proxy())
    except OSError as error:
        raise CommandError(_refused(error, host, port)) from error


def _proxy() -> dict[str, object]:
    """With HTTPS a server on this machine ends TLS and says so; from anyone else such words are not believed."""
    if not settings.HTTPS:
        return {}
    return {
        "trusted_proxy": "127.0.0.1",
        "trusted_proxy_headers": {"x-forwarded-proto", "x-forwarded-for", "x-forwarded-host"},
        "clear_untrusted_proxy_headers": True,
    }


def _refused(error: OSError, host: str, port: int) -> str:
    if error.errno == errno.EADDRINUSE:
        return f"Port {port} is taken, perhaps by a shop that runs already. Stop it, or start with PORT={port + 1}."
    if error.errno == errno.EACCES:
        return f"Port {port} is not for everyone to open. Start with PORT=8000."
    return f"Can't listen on {host}, port {port}: {error.strerror or error}."


def network_addresses() -> list[str]:
    """Return the addresses of this machine that others on its network can call, the likeliest first."""
    found: list[str] = []
    with suppress(OSError), socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        # Choosing a way to an address nobody has (RFC 5737) sends nothing, and tells which of our addresses it starts at.
        probe.connect(("192.0.2.1", 9))
        found.append(probe.getsockname()[0])
    with suppress(OSError):
        found += [str(entry[4][0]) for entry in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)]
    return [address for address in dict.fromkeys(found) if not address.startswith("127.")]


def allow_network_names() -> None:
    """Answer to this machine's names and addresses, unless ALLOWED_HOSTS says exactly which."""
    if not os.environ.get("ALLOWED_HOSTS"):
        name = socket.gethostname().lower()
        settings.ALLOWED_HOSTS = [*settings.ALLOWED_HOSTS, name, f"{name}.local", *network_addresses()]


def open_browser(url: str) -> None:
    """Show the shop where there is a screen to show it on."""
    if os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY") or sys.platform == "darwin":
        threading.Timer(1.0, webbrowser.open, [url]).start()
