"""Whether the options are one kind of junction; of different ones nothing says which is better."""

from __future__ import annotations

from collections.abc import Sequence

from bridge2d.comparison.records import Option


def kind_of(option: Option) -> str:
    """Kind of junction of an option in words.

    Args:
        option: the option.
    """
    return option.result.detail.junction.replace("_", " ")


def junctions_differ(options: Sequence[Option]) -> bool:
    """Whether the options are different kinds of junction, so that their numbers are of different places.

    Args:
        options: the options.
    """
    return len({kind_of(option) for option in options}) > 1


def junction_words(options: Sequence[Option]) -> str:
    """That the options are different junctions, in a sentence or two; empty where they are not.

    Args:
        options: the options.
    """
    if not junctions_differ(options):
        return ""
    kinds = ", ".join(f"{option.name} {kind_of(option)}" for option in options)
    return (
        f"The options are different junctions ({kinds}). Their numbers stand beside each other, but nothing here says "
        "which is better: their sections need not show the same piece of the building. Of their input only parameters "
        "that they share are compared."
    )
