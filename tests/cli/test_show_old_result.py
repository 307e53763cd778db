from __future__ import annotations

from pathlib import Path

import pytest

from diagnose.cli.main import run


def test_a_book_with_faults_does_not_hide_an_old_result(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["interview", "--no-input", "--answer", "season=spring"]) == 0
    made = capsys.readouterr().out
    broken = tmp_path / "broken"
    broken.mkdir()
    (broken / "manifest.yaml").write_text("format: 2\n", encoding="utf-8")
    (number,) = [p.name for p in (tmp_path / "casebook").iterdir() if p.is_dir()]
    assert run(["show", number, "--knowledge", str(broken)]) == 0
    assert capsys.readouterr().out == made
