import copy
import pickle

from logger.job.line import Line, caution, item, role_of


def test_a_line_is_its_text_and_knows_what_it_is_for() -> None:
    line = Line("Window 25 mm to 40 mm", "window")
    assert (line, role_of(line)) == ("Window 25 mm to 40 mm", "window")
    assert (caution("Hot."), role_of(caution("Hot."))) == ("Caution: Hot.", "caution")
    assert (item("Rag"), role_of(item("Rag"))) == ("- Rag", "item")


def test_how_a_text_begins_gives_it_no_role() -> None:
    assert role_of("Caution: Hot.") == role_of(Line("Window side first")) == ""


def test_a_copy_keeps_the_role() -> None:
    for twin in (copy.deepcopy(caution("Hot.")), pickle.loads(pickle.dumps(caution("Hot.")))):
        assert (twin, role_of(twin)) == ("Caution: Hot.", "caution")
