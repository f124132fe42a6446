"""Runs the site: prepares the data folder, brings the tables up to date, serves until told to stop.

Alone it listens on this machine only. Shared, it listens where it is told to, and asks whoever comes for an account.
"""

from __future__ import annotations

import errno
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

from setwright.workbench.hosts import is_own, names_of, shown_host

HOST = "127.0.0.1"
SHARED_HOST = "0.0.0.0"
"""Where it listens when it is shared and nothing else is said: on every address of this machine."""
PORT = 8117
THREADS = 4
DRAIN_SECONDS = 5.0
"""How long an answer that is under way may take to finish once the server was told to stop."""
END_SECONDS = 2.0
"""How long a computation in the background may take to come to its end then."""


class CannotServe(Exception):
    """The site cannot be started; the message says why and what would help."""


def prepare(data: Path | None = None, *, share: bool = False, host: str | None = None) -> Path:
    """Makes the data folder and its tables, so that records can be read and written; returns the folder.

    data : the folder; None means the one of the settings (SETWRIGHT_DATA, else the user's data folder).
    share, host : as `serve` will be asked to; the settings are read once, here.
    Raises CannotServe where the folder or the database cannot be used.
    """
    if data is not None:
        os.environ["SETWRIGHT_DATA"] = str(data.expanduser().resolve())
    if share:
        os.environ["SETWRIGHT_SHARED"] = "1"
    if os.environ.get("SETWRIGHT_SHARED") == "1" and not os.environ.get("SETWRIGHT_HOSTS"):
        os.environ["SETWRIGHT_HOSTS"] = ",".join(names_of(host or SHARED_HOST))
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
        _look_after(folder)
        call_command("migrate", verbosity=0, interactive=False)
    except DatabaseError as error:
        if os.environ.get("DATABASE_URL"):
            raise CannotServe(f"The database that DATABASE_URL names cannot be used: {error}") from error
        raise CannotServe(
            f"The records in {folder} cannot be opened: {error}. Name another folder with --data."
        ) from error
    return folder


def _look_after(folder: Path) -> None:
    """Holds the folder for as long as this process lives; a damaged database is told, an upgrade backed up first."""
    from setwright.workbench.backup import attending, locking
    from setwright.workbench.backup.errors import CannotBackUp

    try:
        locking.hold(folder)
    except locking.InUse as error:
        raise CannotServe(f"A backup is being put back in {folder}. Begin again when that is done.") from error
    found = attending.damage(folder)
    if found is not None:
        raise CannotServe(attending.told_damage(folder, found))
    try:
        attending.before_upgrade(folder)
    except CannotBackUp as error:
        raise CannotServe(f"The records are about to be upgraded, and a backup comes first. {error}") from error


def check_shared(host: str | None) -> None:
    """CannotServe where sharing would let nobody in, or not sharing would let anybody in.

    host : where it is to listen, None for the default.
    """
    from django.conf import settings

    if not settings.SHARED:
        if host is not None and not is_own(host):
            raise CannotServe(f"On {host} others could come in without an account. Add --share, or leave --host out.")
        return

    from django.contrib.sessions.backends.db import SessionStore

    from setwright.workbench.accounts.managing import owner_exists

    if not owner_exists():
        raise CannotServe(
            "Nobody could log in, for there is no owner yet. Make one with: setwright account add NAME --owner"
        )
    SessionStore.clear_expired()


def _keep_secret(path: Path, secret: str) -> None:
    """Writes the signing key once, readable by its owner only; one given by the environment is not kept."""
    if os.environ.get("SETWRIGHT_SECRET") or path.exists():
        return
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "w", encoding="utf-8") as file:
        file.write(secret + "\n")


def _listening_socket(host: str, port: int) -> socket.socket:
    """A socket bound to the port; port 0 takes any free one."""
    listener = socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET, socket.SOCK_STREAM)
    if os.name == "posix":
        # So that a restart need not wait for connections that are still fading away.
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((host, port))
    except (OSError, OverflowError) as error:
        listener.close()
        if isinstance(error, socket.gaierror) or getattr(error, "errno", None) == errno.EADDRNOTAVAIL:
            raise CannotServe(f"{host} is no address of this machine. Name another with --host.") from error
        raise CannotServe(f"Port {port} {_why_not(error)}. Choose another with --port.") from error
    return listener


def _why_not(error: Exception) -> str:
    if isinstance(error, OverflowError):
        return "is no port number; they go from 0 to 65535"
    if isinstance(error, PermissionError):
        return "is kept for the system on this machine; ports from 1024 are free to use"
    return "is taken by another program"


def serve(port: int = PORT, *, ready: Callable[[str], None], path: str = "/", host: str | None = None) -> None:
    """Serves the prepared site until SIGINT or SIGTERM; answers under way are finished first.

    ready : called with the address of `path` once requests will be answered.
    host : where to listen; None for this machine only or, where the site is shared, every address it has.
    Raises CannotServe where the port is taken, or as `check_shared`.
    """
    check_shared(host)

    from django.conf import settings

    host = host or (SHARED_HOST if settings.SHARED else HOST)
    listener = _listening_socket(host, port)

    from setwright.workbench.backup.attending import daily_backups
    from setwright.workbench.search.catching import catching_up
    from setwright.workbench.services import circuits, dating, identity
    from setwright.workbench.services.apart import computing_apart
    from setwright.workbench.wsgi import application

    server = create_server(
        application,
        sockets=[listener],
        threads=THREADS,
        clear_untrusted_proxy_headers=True,
        url_scheme="https" if settings.HTTPS else "http",
        **_proxy(settings.PROXY),
    )
    stopping = threading.Event()

    def stop(signum: int, frame: FrameType | None) -> None:
        # Only says so: an exception here could tear an answer apart that is just being sent.
        stopping.set()
        server.pull_trigger()

    before = {number: signal.signal(number, stop) for number in (signal.SIGINT, signal.SIGTERM)}
    try:
        ready(f"http://{shown_host(host)}:{listener.getsockname()[1]}{path}")
        with computing_apart():
            with daily_backups(Path(settings.DATA_DIR)), catching_up():
                while not stopping.is_set():
                    _turn(server, timeout=1.0)
            _drain(server)
    finally:
        services = (identity, dating, circuits)
        for service in services:
            service.stop_all()  # computations that nobody can see the end of
        for service in services:
            service.rest(END_SECONDS)
        server.task_dispatcher.shutdown(timeout=0.5)
        wasyncore.close_all(server._map)
        for number, handler in before.items():
            signal.signal(number, handler)


def _proxy(address: str) -> dict[str, Any]:
    """What the server takes from a proxy before it: who really asked, and whether through TLS."""
    if not address:
        return {}
    return {"trusted_proxy": address, "trusted_proxy_headers": {"x-forwarded-for", "x-forwarded-proto"}}


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
