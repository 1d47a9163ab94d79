"""Serving the shop from this machine: the doors it listens at, and the names a tablet may call it by."""

import errno
import os
import socket
import sys
import threading
import webbrowser
from collections.abc import Iterator
from ipaddress import ip_address
from itertools import chain

import ifaddr
from django.conf import settings
from django.core.management import CommandError
from waitress.server import BaseWSGIServer, MultiSocketServer, create_server

from . import worker

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
    """Return the addresses of this machine that others on its networks can call, with or without a way to the internet."""
    found = [ip.ip for adapter in ifaddr.get_adapters() for ip in adapter.ips if ip.is_IPv4]
    return [str(address) for address in dict.fromkeys(found) if not ip_address(str(address)).is_loopback]


class NamesNow(list[str]):
    """Names the shop answers to, and the addresses the machine has at the moment: a lease may change while it runs."""

    def __iter__(self) -> Iterator[str]:
        return chain(super().__iter__(), network_addresses())


def allow_network_names() -> None:
    """Answer to this machine's names and addresses, unless ALLOWED_HOSTS says exactly which."""
    if not os.environ.get("ALLOWED_HOSTS"):
        name = socket.gethostname().lower()
        settings.ALLOWED_HOSTS = NamesNow([*settings.ALLOWED_HOSTS, name, f"{name}.local"])


def serve(server: "MultiSocketServer | BaseWSGIServer") -> None:
    """Answer until stopped, with one worker for long work beside the server."""
    beside = worker.start()
    try:
        server.run()
    finally:
        beside.terminate()
        beside.wait()


def open_browser(url: str) -> None:
    """Show the shop where there is a screen to show it on."""
    if os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY") or sys.platform == "darwin":
        threading.Timer(1.0, webbrowser.open, [url]).start()
