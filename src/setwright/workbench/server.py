"""Runs the site: prepares the data folder, brings the tables up to date, serves until told to stop."""

from __future__ import annotations

import os
import signal
import socket
import threading
import time
from collections.abc import Callable
from pathlib import Path
from types import FrameType
from typing import Any

from waitress import create_server, wasyncore

HOST = "127.0.0.1"
PORT = 8117
THREADS = 4
DRAIN_SECONDS = 5.0
"""How long an answer that is under way may take to finish once the server was told to stop."""


class CannotServe(Exception):
    """The site cannot be started; the message says why and what would help."""


def prepare(data: Path | None = None) -> Path:
    """Makes the data folder and its tables, so that records can be read and written; returns the folder.

    data : the folder; None means the one of the settings (SETWRIGHT_DATA, else the user's data folder).
    Raises CannotServe where the folder cannot be used.
    """
    if data is not None:
        os.environ["SETWRIGHT_DATA"] = str(data.expanduser().resolve())
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "setwright.workbench.settings")

    from django.conf import settings
    from django.core.exceptions import ImproperlyConfigured

    try:
        folder = Path(settings.DATA_DIR)
    except ImproperlyConfigured as error:
        raise CannotServe(str(error)) from error
    try:
        folder.mkdir(parents=True, exist_ok=True)
        _keep_secret(settings.SECRET_FILE, settings.SECRET_KEY)
    except OSError as error:
        raise CannotServe(
            f"The data folder {folder} cannot be used: {error.strerror}. Name another with --data."
        ) from error

    import django
    from django.core.management import call_command
    from django.db import DatabaseError

    django.setup()
    try:
        call_command("migrate", verbosity=0, interactive=False)
    except DatabaseError as error:
        raise CannotServe(
            f"The records in {folder} cannot be opened: {error}. Name another folder with --data."
        ) from error
    return folder


def _keep_secret(path: Path, secret: str) -> None:
    """Writes the signing key once, readable by its owner only; one given by the environment is not kept."""
    if os.environ.get("SETWRIGHT_SECRET") or path.exists():
        return
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "w", encoding="utf-8") as file:
        file.write(secret + "\n")


def _listening_socket(port: int) -> socket.socket:
    """A socket bound to the port on this machine only; port 0 takes any free one."""
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    if os.name == "posix":
        # So that a restart need not wait for connections that are still fading away.
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((HOST, port))
    except (OSError, OverflowError) as error:
        listener.close()
        raise CannotServe(f"Port {port} {_why_not(error)}. Choose another with --port.") from error
    return listener


def _why_not(error: Exception) -> str:
    if isinstance(error, OverflowError):
        return "is no port number; they go from 0 to 65535"
    if isinstance(error, PermissionError):
        return "is kept for the system on this machine; ports from 1024 are free to use"
    return "is taken by another program"


def serve(port: int = PORT, *, ready: Callable[[str], None], path: str = "/") -> None:
    """Serves the prepared site until SIGINT or SIGTERM; answers under way are finished first.

    ready : called with the address of `path` once requests will be answered.
    Raises CannotServe where the port is taken.
    """
    listener = _listening_socket(port)

    from setwright.workbench.services.identity import stop_all
    from setwright.workbench.wsgi import application

    server = create_server(application, sockets=[listener], threads=THREADS, clear_untrusted_proxy_headers=True)
    stopping = threading.Event()

    def stop(signum: int, frame: FrameType | None) -> None:
        # Only says so: an exception here could tear an answer apart that is just being sent.
        stopping.set()
        server.pull_trigger()

    before = {number: signal.signal(number, stop) for number in (signal.SIGINT, signal.SIGTERM)}
    try:
        ready(f"http://{HOST}:{listener.getsockname()[1]}{path}")
        while not stopping.is_set():
            _turn(server, timeout=1.0)
        _drain(server)
    finally:
        stop_all()  # computations that nobody can see the end of
        server.task_dispatcher.shutdown(timeout=0.5)
        wasyncore.close_all(server._map)
        for number, handler in before.items():
            signal.signal(number, handler)


def _turn(server: Any, timeout: float) -> None:
    """One turn of the server's loop: takes what came in, sends what is ready."""
    wasyncore.loop(timeout=timeout, use_poll=server.adj.asyncore_use_poll, map=server._map, count=1)


def _drain(server: Any) -> None:
    """Takes no new connection, and lets the answers under way reach their readers."""
    server.del_channel()
    server.socket.close()
    deadline = time.monotonic() + DRAIN_SECONDS
    while time.monotonic() < deadline:
        channels = list(server.active_channels.values())
        if not any(channel.requests or channel.total_outbufs_len for channel in channels):
            return
        _turn(server, timeout=0.1)
