"""A server that is started and killed many times: it loads once, and each server is a child that begins at once.

Reads "start" from its input and answers with the child's process id and port. Run as a script with the name of the
database that it serves.
"""

import os
import signal
import socket
import sys


def main(database: str) -> None:
    """Serve by children until the input ends."""
    os.environ["DJANGO_SETTINGS_MODULE"] = "tests.settings"
    import django

    django.setup()
    from django.db import connection
    from django.test import Client
    from waitress.server import create_server

    from shop.wsgi import application

    connection.settings_dict["NAME"] = database
    # what is loaded at the first request is loaded before, once for all children
    Client(headers={"host": "127.0.0.1"}).post("/api/v1/jobs/", {}, content_type="application/json")
    connection.close()
    signal.signal(signal.SIGCHLD, signal.SIG_IGN)
    for _ in sys.stdin:
        door = socket.create_server(("127.0.0.1", 0), backlog=16)
        child = os.fork()
        if child == 0:
            create_server(application, sockets=[door], threads=4, ident=None).run()
            os._exit(0)
        print(child, door.getsockname()[1], flush=True)  # noqa: T201 - this is how it answers
        door.close()


if __name__ == "__main__":
    main(sys.argv[1])
