"""The README is in the order in which a newcomer reads: the job, two commands, a tour, a first evening; tables last."""

import re

from tests.readme import BLOCKS, README, section


def headings() -> list[str]:
    return re.findall(r"^## (.*)$", README, re.MULTILINE)


def test_it_begins_with_the_job_in_one_paragraph_and_two_commands() -> None:
    title, paragraph, then = README.split("\n\n")[:3]
    assert title == "# Evenhand"
    assert paragraph.startswith("One person services the chain drive and rear axle")
    assert then == "## Two commands"
    assert [each.name for each in BLOCKS[:2]] == ["the demo command", "the test command"]


def test_the_order_is_that_of_a_newcomer() -> None:
    assert headings()[:5] == [
        "Two commands",
        "A short tour",
        "A first evening with a real caliper",
        "A job by hand",
        "What the verdicts mean",
    ]
    assert headings()[-3:] == ["A whole shop", "Reference", "Licence"]


def test_long_tables_are_for_reference_only() -> None:
    for heading in headings():
        rows = sum(line.startswith("|") for line in section(f"## {heading}").splitlines())
        assert rows < 40 or heading == "Reference", heading


def test_every_section_that_is_named_is_there() -> None:
    named = re.findall(r'see "([^"]+)"|stand under ([A-Z]\w+)', README)
    assert named
    assert {first or second for first, second in named} <= set(re.findall(r"^#{2,3} (.*)$", README, re.MULTILINE))


def test_the_contents_name_every_section_after_them_in_order() -> None:
    text = README
    start, end = text.index("\nHere: "), text.index("\n## A short tour")
    linked = re.findall(r"\]\(#([a-z-]+)\)", text[start:end])
    after = re.findall(r"^##(#?) (.+)$", text[end:], re.MULTILINE)
    reference = [name for _, name in after].index("Reference")
    wanted = [name for place, (deep, name) in enumerate(after) if bool(deep) is (place > reference)]
    assert linked == [name.lower().replace(" ", "-") for name in wanted if name not in {"Reference", "Licence"}]
