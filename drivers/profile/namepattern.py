"""The pattern that a profile looks for in an advertised name: a regular expression that cannot search for long; pure.

A name comes from whoever advertises, and one such as `(a+)+$` makes a search that never ends of forty letters. What a
search can cost at most is counted in powers of two, by what there is to choose between.
"""

import re
import warnings

NAME_SEEN = 64
"""Characters of an advertised name that are looked at."""
MOST = 18
"""Powers of two: about a quarter of a million steps from each place of the name."""
_REPEAT, _CHOICE = 6, 1
"""A repeat chooses among the 64 characters of a name, `?` and `|` between two ways."""
_TOKENS = re.compile(
    r"\\.|\[\^?\]?(?:\\.|[^\]\\])*\]"  # an escape, a set
    r"|(?P<verbose>\(\?[a-zA-Z]*x[a-zA-Z]*[-:)])"
    r"|\(\?[a-zA-Z:=!<#>(-]?"  # the head of a group
    r"|(?P<group>\)\s*(?:[*+?]|\{[0-9,]))"
    r"|(?P<repeat>[*+]\??|\{[0-9]*,[0-9]*\}\??)"
    r"|(?P<choice>[?|])",
    re.DOTALL,
)


def usable(text: str) -> str:
    """Return a pattern; ValueError where it is no regular expression, or one whose search could take long."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            re.compile(text)
    except (re.error, OverflowError, RecursionError, Warning) as error:
        raise ValueError(f"{text!r} is not a pattern: {error}") from None
    cost = 0
    for token in _TOKENS.finditer(text):
        if token["group"] or token["verbose"]:
            what = "repeats a group, which can search for ever" if token["group"] else "has the flag x"
            raise ValueError(f"{text!r} {what}; write it without")
        cost += _REPEAT * bool(token["repeat"]) + _CHOICE * bool(token["choice"])
    if cost > MOST:
        raise ValueError(f"{text!r} has too many repeats and choices: three of * and +, or eighteen of ? and |")
    return text
