"""The next free port, bound here and handed to the web server as an open socket."""

import socket

from config.local.errors import NoFreePort

FIRST = 8000
HOW_MANY = 100


def bind_next_free(first: int = FIRST, host: str = "127.0.0.1") -> socket.socket:
    """A listening socket on the first free port.

    It listens at once: two sockets that only bind may share a port until one listens. Early
    callers wait in its queue until the web server takes it over.

    raises : NoFreePort
    """
    for port in range(first, first + HOW_MANY):
        bound = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        bound.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            bound.bind((host, port))
            bound.listen(128)
        except OSError:
            bound.close()
            continue
        return bound
    raise NoFreePort(f"Ports {first} to {first + HOW_MANY - 1} of {host} are all taken.")
