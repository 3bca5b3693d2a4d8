"""`rockhold keys`: one's own keys, and the keys that one trusts."""

import os

import click

from rockhold.cli import exits
from rockhold.cli.complete import KEYS
from rockhold.cli.jsonline import json_line
from rockhold.cli.secret import ask, can_ask
from rockhold.errors import UsageError
from rockhold.evidence.keyfile import ROLES, fingerprint_of, thumbprint_of, to_text
from rockhold.evidence.keys import (
    PASSPHRASE,
    REVIEWER,
    TECHNICIAN,
    StoredKey,
    home,
    make_key,
    retire_key,
    stored_keys,
    trust_key,
)
from rockhold.evidence.offered import offered_keys
from rockhold.plain import plain


@click.group()
def command() -> None:
    """Make your own keys, and say whose keys you trust.

    Example: rockhold keys make "A. Miller"
    """


@command.command("list")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object per key and line.")
def list_keys(as_json: bool) -> int:
    """List your own keys and those that you trust.

    Example: rockhold keys list
    """
    store = stored_keys()
    for stored in store.keys:
        click.echo(json_line(_facts(stored)) if as_json else _row(stored))
    for path, reason in store.damaged:
        click.echo(f"damaged: {path} ({reason}). Put back a copy of the file.", err=True)
    if not store.keys and not as_json:
        click.echo(f'No keys in {home()}. Make one: rockhold keys make "YOUR NAME"')
    return exits.OK


@command.command()
@click.argument("name")
@click.option(
    "--role",
    type=click.Choice([TECHNICIAN, REVIEWER]),
    default=TECHNICIAN,
    show_default=True,
    help="What you sign as.",
)
@click.option("--no-passphrase", is_flag=True, help="Anyone with the file may sign, as for a demo.")
def make(name: str, role: str, no_passphrase: bool) -> int:
    """Make a key for a person, NAME, who signs on this computer.

    The passphrase is asked for, or taken from ROCKHOLD_PASSPHRASE.

    Example: rockhold keys make "A. Miller" --role reviewer
    """
    passphrase = "" if no_passphrase else os.environ.get(PASSPHRASE)
    if passphrase is None:
        if not can_ask():
            raise UsageError(f"a passphrase is needed: set {PASSPHRASE}, or add --no-passphrase")
        passphrase = ask(f'"{name}", {role}', True)
    stored = make_key(name, role, passphrase)
    click.echo(f"Made: {_row(stored)}")
    click.echo(
        f'Give others what `rockhold keys show "{name}"` prints; keep {stored.path} to yourself.'
    )
    return exits.OK


@command.command()
@click.argument("key", shell_complete=KEYS)
def show(key: str) -> int:
    """Print the public half of KEY (a name or fingerprint), to be given to others.

    Example: rockhold keys show "A. Miller" > miller.json
    """
    for stored in _find(key):
        click.echo(to_text(stored.record, with_secret=False), nl=False)
        click.echo(f"fingerprint: {stored.record.fingerprint}", err=True)
    return exits.OK


@command.command()
@click.argument("source", metavar="FILE|KEY")
@click.option("--role", required=True, type=click.Choice(ROLES), help="What the key may sign as.")
@click.option("--name", help="Whose it is; else the name that comes with it.")
@click.option("--yes", is_flag=True, help="Do not ask; you have compared the fingerprint.")
def trust(source: str, role: str, name: str | None, yes: bool) -> int:
    """Trust a key from now on, for one role.

    FILE is what `rockhold keys show` printed, a JWK, or a capture sealed with the key. KEY is a
    board's public key, 64 hexadecimal digits. Compare the fingerprint with its owner first: a name
    in a file proves nothing.

    Example: rockhold keys trust miller.json --role technician
    """
    offered = offered_keys(source, role)
    if len(offered) != 1:
        names = ", ".join(f'"{who}"' for _, who in offered) or "none"
        raise UsageError(
            f"{source} holds {len(offered)} keys for the role {role} ({names}), not one"
        )
    public, told = offered[0]
    who = name or told
    if not who:
        raise UsageError("say whose key it is with --name")
    mark = fingerprint_of(thumbprint_of(public))
    click.echo(plain(f'{role} "{who}", fingerprint {mark}'), err=True)
    if not yes:
        if not can_ask():
            raise UsageError("nobody can be asked here; compare the fingerprint, then add --yes")
        click.confirm("Is that the fingerprint that its owner tells you?", abort=True, err=True)
    click.echo(f"Trusted: {_row(trust_key(public, who, role))}")
    return exits.OK


@command.command()
@click.argument("key", shell_complete=KEYS)
@click.option("--because", required=True, metavar="TEXT", help="Why; kept with the key.")
@click.option("--stolen", is_flag=True, help="Somebody else may have it: no seal of it counts.")
def retire(key: str, because: str, stolen: bool) -> int:
    """Take KEY (a name or fingerprint) out of use.

    Seals that were dated before stay good, with a remark; the date is the signer's own word. A
    stolen key can be used to make seals of any date, so then none of them counts any more.

    Example: rockhold keys retire "A. Miller" --because "left the company"
    """
    found = _find(key)
    if len({stored.record.thumbprint for stored in found}) > 1:
        rows = "\n  ".join(_row(stored) for stored in found)
        raise UsageError(f"several keys fit; name one by its fingerprint:\n  {rows}")
    for stored in found:
        click.echo(f"Retired: {_row(retire_key(stored, because, stolen))}")
    return exits.OK


def _find(key: str) -> list[StoredKey]:
    found = stored_keys().find(key)
    if not found:
        raise UsageError(f'no key here fits "{key}"; `rockhold keys list` shows them')
    return found


def _row(stored: StoredKey) -> str:
    record = stored.record
    kind = "own" if stored.own else "trusted"
    state = "" if not stored.own or record.locked else ", no passphrase"
    if record.retired_utc:
        state += (
            f", {'stolen' if record.stolen else 'retired'} {record.retired_utc}: {record.because}"
        )
    return plain(
        f'{record.fingerprint}  {record.role:<10}  {kind:<7}  "{record.name}"  '
        f"since {record.since_utc}{state}"
    )


def _facts(stored: StoredKey) -> dict[str, object]:
    record = stored.record
    return {
        "name": record.name,
        "role": record.role,
        "own": stored.own,
        "key": record.thumbprint,
        "fingerprint": record.fingerprint,
        "public": record.public.hex(),
        "since_utc": record.since_utc,
        "passphrase": record.locked if stored.own else None,
        "retired_utc": record.retired_utc or None,
        "stolen": record.stolen,
        "because": record.because,
    }
