"""The command line takes a file of own prices, and refuses a bad one before any work."""

import pytest

import loopnet.commands.work
from loopnet.cli import main


@pytest.mark.parametrize("command", [["rank", "oil_salt"], ["show", "oil_salt"], ["diff", "oil_salt", "air_rock"]])
def test_a_bad_price_file_ends_the_work_before_it_begins(command, tmp_path, capsys, monkeypatch):
    monkeypatch.setattr(loopnet.commands.work, "weather_of", lambda path: pytest.fail("weather was read first"))
    path = tmp_path / "mine.toml"
    path.write_text('colector.trough = "3 USD/m2"\n')
    assert main([*command, "--prices", str(path)]) == 2
    said = capsys.readouterr().err
    assert "collector.trough" in said
    assert "mine.toml" in said
    assert main([*command, "--prices", str(tmp_path / "none.toml")]) == 2
    assert "cannot read the price file" in capsys.readouterr().err


def test_own_prices_reach_the_plants(tmp_path, monkeypatch, capsys):
    import loopnet.study

    seen = []

    def rank(plants, weather, **options):
        seen.append(options["book"])
        raise KeyboardInterrupt

    monkeypatch.setattr(loopnet.study, "rank", rank)
    path = tmp_path / "mine.toml"
    path.write_text('pump = "900 USD/(L/s)"\n')
    assert main(["rank", "oil_salt", "--prices", str(path)]) == 130
    assert seen[0].usd("pump") == 900.0
    assert "stopped" in capsys.readouterr().err
