"""Asks for passphrases, and for the key of the person who signs."""

import os
import sys
from difflib import get_close_matches

import click

from rockhold.cli.widths import for_a_screen
from rockhold.errors import UsageError, WrongPassphraseError
from rockhold.evidence.keyfile import SHORTEST
from rockhold.evidence.keys import PASSPHRASE, Signer, signer, stored_keys

_TRIES = 3  # of a passphrase: a slip of the fingers shall not cost the work


def ask(whose: str, new: bool) -> str:
    """Ask for a passphrase on the terminal; a new one is asked for twice."""
    if new:
        told = (
            f"A key is made for {whose}: it signs your work. Its passphrase is asked for at every "
            f"seal and has at least {SHORTEST} characters; a few words are best."
        )
        click.echo(for_a_screen(told, sys.stderr), err=True)
    return str(
        click.prompt(
            f"Passphrase for {whose}" + (" (empty: none)" if new else ""),
            default="" if new else None,
            show_default=False,
            hide_input=True,
            confirmation_prompt=new,
            err=True,
        )
    )


def can_ask() -> bool:
    """Say whether somebody sits at a terminal."""
    return sys.stdin is not None and sys.stdin.isatty()


def _ask_about_close_names(name: str, role: str) -> None:
    """Make sure that a name which is nearly that of a key here is no slip of the fingers."""
    names = [
        stored.record.name
        for stored in stored_keys().keys
        if stored.own and stored.record.role == role
    ]
    close = get_close_matches(name, names, cutoff=0.75)
    if not close:
        return
    words = f'there is no key for "{name}", {role}, here, but for {_listed(close)}'
    if not can_ask():
        raise UsageError(
            f"{words}. Write that name, or make a new key: "
            f'rockhold keys make "{name}" --role {role}'
        )
    click.confirm(
        f"{words[0].upper()}{words[1:]}. Make a new key for {name}?", abort=True, err=True
    )


def _listed(names: list[str]) -> str:
    return " and ".join(f'"{name}"' for name in names)


def signing_key(name: str, role: str) -> Signer:
    """Return the key of a person, opened with a passphrase where it has one.

    Raises:
        UsageError: When there is no such key and nobody can be asked for a passphrase, or a key
            of nearly the same name is here.
        KeyStoreError: When the key cannot be opened.
    """
    known = any(
        stored.own and stored.record.name == name for stored in stored_keys().find(name, role)
    )
    if not known:
        _ask_about_close_names(name, role)
    if not known and not can_ask() and PASSPHRASE not in os.environ:
        raise UsageError(
            f'there is no key for "{name}", {role}, here. Make one: '
            f'rockhold keys make "{name}" --role {role} (or set {PASSPHRASE}; empty: none)'
        )
    if not can_ask():
        return signer(name, role)
    for _ in range(_TRIES - 1):
        try:
            return signer(name, role, ask)
        except WrongPassphraseError as error:
            if PASSPHRASE in os.environ:  # nobody was asked, so asking again is no help
                raise
            click.echo(for_a_screen(f"rockhold: {error}; once more", sys.stderr), err=True)
    return signer(name, role, ask)
