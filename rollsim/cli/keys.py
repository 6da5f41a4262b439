"""`rollsim keys [KEY]`: the keys of a scenario file, and what one of them means."""

from __future__ import annotations

import click


@click.command("keys")
@click.argument("key", metavar="[KEY]", required=False)
def command(key: str | None) -> None:
    """Print the tables and keys of a scenario file; with KEY what that key or table means.

    KEY is a whole key (ship.gravity.kg_m), a table (ship.gravity), or a part of them (kg).
    """
    from rollsim.errors import printable
    from rollsim.scenario import lookup

    if key is None:
        click.echo(lookup.overview())
        return
    text = lookup.meaning(key)
    if text is None:
        near = lookup.nearest(key)
        hint = f" Did you mean {' or '.join(near)}?" if near else " rollsim keys lists them all."
        raise click.UsageError(f"No key or table is called '{printable(key[:60])}'.{hint}")
    click.echo(text)
