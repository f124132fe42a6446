"""`setwright account`: who may open a shared site."""

from __future__ import annotations

import getpass
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

account = typer.Typer(
    help="Make, list and remove the accounts of a shared site.",
    rich_markup_mode=None,
    no_args_is_help=True,
)


class RoleName(StrEnum):
    """What an account may do."""

    NONE = "none"
    READER = "reader"
    CONTRIBUTOR = "contributor"
    OWNER = "owner"


Name = Annotated[str, typer.Argument(help="The name to log in with.")]
Data = Annotated[Path | None, typer.Option(help="The data folder (default: your own).", file_okay=False)]


@contextmanager
def _records(data: Path | None) -> Iterator[None]:
    """The records, ready; what cannot be done ends in one plain line and status 1."""
    from setwright.workbench import server

    try:
        server.prepare(data)
        from setwright.workbench.accounts.managing import AccountRefused

        try:
            yield
        except AccountRefused as error:
            print(error, file=sys.stderr)
            raise typer.Exit(1) from error
    except server.CannotServe as error:
        print(error, file=sys.stderr)
        raise typer.Exit(1) from error


def _password(name: str) -> str:
    """The password, asked for twice; where nobody sits at a terminal, the first line of the input."""
    if not sys.stdin.isatty():
        return sys.stdin.readline().rstrip("\r\n")
    given = getpass.getpass(f"Password for {name}, ten characters or more: ")
    if getpass.getpass("The same again: ") != given:
        print("The two differ; nothing was changed.", file=sys.stderr)
        raise typer.Exit(1)
    return given


@account.command()
def add(
    name: Name,
    role: Annotated[RoleName, typer.Option(help="What the account may do in general.")] = RoleName.READER,
    owner: Annotated[bool, typer.Option("--owner", help="The same as --role owner.")] = False,
    data: Data = None,
) -> None:
    """Make an account; the password is asked for, or read from the input."""
    with _records(data):
        from setwright.workbench.accounts.managing import add_account
        from setwright.workbench.accounts.models import Role

        wanted = Role.OWNER if owner else Role(role.value)
        add_account(name, _password(name), wanted)
        print(f"{name}: {wanted.value}")


@account.command(name="list")
def list_accounts(data: Data = None) -> None:
    """List the accounts with their roles, in general and in single families."""
    with _records(data):
        from setwright.workbench.accounts.managing import accounts

        for user in accounts().prefetch_related("family_roles__family"):
            own = sorted((item.family.key, item.role) for item in user.family_roles.all())
            families = "".join(f", {key}: {role}" for key, role in own)
            print(f"{user.get_username()}: {user.account.role}{families}")


@account.command()
def password(name: Name, data: Data = None) -> None:
    """Set another password; wherever the account was logged in, it is no more."""
    with _records(data):
        from setwright.workbench.accounts.managing import account_named, set_password

        set_password(account_named(name), _password(name))
        print(f"{name}: the new password holds")


@account.command()
def role(
    name: Name,
    role: Annotated[RoleName, typer.Argument(help="What the account may do.")],
    family: Annotated[str | None, typer.Option(help="Only in the family of this id.")] = None,
    data: Data = None,
) -> None:
    """Change what an account may do, in general or in one family."""
    with _records(data):
        from setwright.workbench.accounts.managing import account_named, set_family_role_by_key, set_role
        from setwright.workbench.accounts.models import Role

        user = account_named(name)
        if family is None:
            set_role(user, Role(role.value))
        else:
            set_family_role_by_key(user, family, Role(role.value))
        print(f"{name}: {role.value}" + (f" in {family}" if family else ""))


@account.command()
def remove(name: Name, data: Data = None) -> None:
    """Remove an account; what it wrote stays under its name."""
    with _records(data):
        from setwright.workbench.accounts.managing import account_named, remove_account

        remove_account(account_named(name))
        print(f"{name}: removed")
