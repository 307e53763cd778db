from __future__ import annotations

from pathlib import Path

import pytest
import yaml

from diagnose.kb import strictyaml
from diagnose.kb.fault import Fault
from diagnose.kb.strictyaml import StrictYamlFault, parse, read


@pytest.fixture(autouse=True, params=["libyaml", "python"])
def parser(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> str:
    """Both parsers must agree: PyYAML is also installed without its C part."""
    if request.param == "python":
        monkeypatch.delattr(yaml, "CSafeLoader", raising=False)
    elif not hasattr(yaml, "CSafeLoader"):
        pytest.skip("this PyYAML has no C parser")
    return str(request.param)


def refused(text: str) -> Fault:
    with pytest.raises(StrictYamlFault) as caught:
        parse(text, "x.yaml")
    return caught.value.fault


# Each with the place an editor would show, counted from 1.
REFUSED = {
    "anchor": ("a: &x [1]\n", "KB002", "1:4"),
    "anchor on a key": ("a: 1\n&x b: 2\n", "KB002", "2:1"),
    "alias": ("a: *x\n", "KB002", "1:4"),
    "tag": ("a: 1\nb: !!python/object:os.system ls\n", "KB002", "2:4"),
    "standard tag": ("- 1\n- !!str 2\n", "KB002", "2:3"),
    "own tag": ("a: !secret x\n", "KB002", "1:4"),
    "tag on a key": ("!!str a: 1\n", "KB002", "1:1"),
    "merge key": ("a: {b: 1}\nc:\n  <<: {b: 2}\n", "KB002", "3:3"),
    "second document": ("a: 1\n---\nb: 2\n", "KB002", "2:1"),
    "empty second document": ("a: 1\n---\n", "KB002", "2:1"),
    "nested too deep": ("[" * 42 + "]" * 42, "KB002", "1:42"),
    "key twice": ("a: 1\nb:\n  c: 1\n  'c': 2\n", "KB003", "4:3"),
    "key twice in a flow": ("a: {b: 1, b: 2}\n", "KB003", "1:11"),
    "number as key": ("a: 1\n2: x\n", "KB004", "2:1"),
    "boolean as key": ("true: x\n", "KB004", "1:1"),
    "nothing as key": ("~: x\n", "KB004", "1:1"),
    "list as key": ("? [a]\n: b\n", "KB004", "1:3"),
    "bell in text": ("a: 1\nb: x\x07y\n", "KB005", "2:5"),
    "null byte": ("a: \x00\n", "KB005", "1:4"),
    "escape sequence by escape": ('a: "\\e[31mred"\n', "KB005", "1:4"),
    "text turned round": ("a: x\u202ey\n", "KB005", "1:5"),
    "text turned round in a comment": ("a: 1 # \u202ey\n", "KB005", "1:8"),
    "line end no editor counts": ("a: x\u2028y\n", "KB005", "1:5"),
    "control character in a key": ('"a\\b": 1\n', "KB005", "1:1"),
}


@pytest.mark.parametrize(("text", "code", "place"), REFUSED.values(), ids=REFUSED)
def test_refused_with_code_line_and_column(text: str, code: str, place: str) -> None:
    fault = refused(text)
    assert (fault.code, str(fault.location)) == (code, f"x.yaml:{place}")
    assert fault.remedy


@pytest.mark.parametrize("text", ["a: [1,\nb: 2\n", "a:\n\tb: 1\n", "a: 'x\n", "a: b: c\n", "%"])
def test_what_is_no_yaml_is_refused_with_a_line(text: str) -> None:
    fault = refused(text)
    assert fault.code == "KB002"
    assert fault.location.line > 0


def test_alias_bomb_is_refused_at_its_first_anchor() -> None:
    # The "billion laughs" form: each line holds the one above it nine times.
    rows = ["a0: &a0 [lol, lol, lol]"]
    rows += [f"a{i}: &a{i} [{', '.join([f'*a{i - 1}'] * 9)}]" for i in range(1, 10)]
    fault = refused("\n".join(rows))
    assert (fault.code, fault.location.line, fault.location.column) == ("KB002", 1, 5)
    assert "&a0" in fault.wrong


def test_two_hundred_thousand_open_brackets_do_not_exhaust_the_stack() -> None:
    assert refused("[" * 200_000).code == "KB002"


def test_dates_times_and_half_booleans_stay_text() -> None:
    words = ["2026-11-25", "1:30", "12:30:45", "yes", "No", "on", "off", "y", "True", "FALSE"]
    words += ["010", "0x1F", "1_000", ".inf", ".nan", "Null", "NULL", "=", "1e", "5 ppb"]
    text = "\n".join(f"- {word}" for word in words)
    assert parse(text, "x").value == words


def test_only_true_and_false_are_booleans_and_quotes_make_text() -> None:
    document = parse("[true, false, 'true', \"false\", '7', '']", "x")
    assert document.value == [True, False, "true", "false", "7", ""]


def test_numbers_and_nothing() -> None:
    document = parse("[7, -3, +4, 0, 0.5, .5, 1., 1e3, -2.5E-2, ~, null, ]", "x")
    assert document.value == [7, -3, 4, 0, 0.5, 0.5, 1.0, 1000.0, -0.025, None, None]
    assert [type(value) for value in document.value[:6]] == [int, int, int, int, float, float]


def test_number_too_long_for_python_stays_text() -> None:
    digits = "9" * 5000
    assert parse(f"a: {digits}", "x").value == {"a": digits}


@pytest.mark.parametrize("text", ["", "# only a comment\n", "\ufeff"])
def test_empty_file_is_nothing_and_still_has_a_place(text: str) -> None:
    document = parse(text.removeprefix("\ufeff"), "x.yaml")
    assert document.value is None
    assert str(document.place(())) == "x.yaml:1:1"


def test_every_value_has_its_place() -> None:
    document = parse("a: 1\nlist:\n  - x\n  - {k: v, 'q': [é, z]}\ntext: |\n  two\n  lines\n", "f")
    places = {
        ("a",): "f:1:4",
        ("list",): "f:2:1",  # a block is shown at its key
        ("list", 0): "f:3:5",
        ("list", 1): "f:4:5",
        ("list", 1, "k"): "f:4:9",
        ("list", 1, "q"): "f:4:12",
        ("list", 1, "q", 1): "f:4:21",
        ("text",): "f:5:7",
    }
    assert {path: str(document.place(path)) for path in places} == places
    assert document.value["text"] == "two\nlines\n"


def test_place_of_something_missing_is_that_of_what_should_hold_it() -> None:
    document = parse("a:\n  b: 1\n", "f")
    assert str(document.place(("a", "no", 3))) == "f:1:1"


def test_file_over_two_megabytes_is_refused_unread(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "big.yaml"
    file.write_bytes(b"a: " + b"x" * 3_000_000)

    def never(path: Path) -> bytes:
        raise AssertionError(f"{path} was read")

    monkeypatch.setattr(Path, "read_bytes", never)
    with pytest.raises(StrictYamlFault) as caught:
        read(file, "big.yaml")
    fault = caught.value.fault
    assert (fault.code, str(fault.location)) == ("KB001", "big.yaml:1:1")
    assert "3,000,003 bytes" in fault.wrong


def test_file_of_just_the_greatest_size_is_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "full.yaml"
    file.write_bytes(b"a: 1234567")
    monkeypatch.setattr(strictyaml, "MAX_BYTES", 10)
    assert read(file).value == {"a": 1234567}
    monkeypatch.setattr(strictyaml, "MAX_BYTES", 9)
    with pytest.raises(StrictYamlFault):
        read(file)


def test_file_not_in_utf8_is_refused_where_it_stops_being_so(tmp_path: Path) -> None:
    file = tmp_path / "latin.yaml"
    file.write_bytes("a: 1\nb: né\n".encode("latin-1"))
    with pytest.raises(StrictYamlFault) as caught:
        read(file, "latin.yaml")
    assert (caught.value.fault.code, str(caught.value.fault.location)) == (
        "KB001",
        "latin.yaml:2:5",
    )


def test_byte_order_mark_and_windows_line_ends_are_read_over(tmp_path: Path) -> None:
    file = tmp_path / "windows.yaml"
    file.write_bytes(b"\xef\xbb\xbfa: 1\r\nb: two\r\n")
    document = read(file, "w")
    assert document.value == {"a": 1, "b": "two"}
    assert str(document.place(("b",))) == "w:2:4"


@pytest.mark.parametrize("missing", [True, False], ids=["missing", "folder"])
def test_missing_file_or_folder_is_a_fault_with_the_reason(tmp_path: Path, missing: bool) -> None:
    with pytest.raises(StrictYamlFault) as caught:
        read(tmp_path / "no.yaml" if missing else tmp_path, "no.yaml")
    assert caught.value.fault.code == "KB001"
    assert str(caught.value.fault.location) == "no.yaml:1:1"
