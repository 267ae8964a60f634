"""Files of every version so far are read, and mean what they meant."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import hangarc as ha
import jsonschema
import pytest

SCHEMAS = Path(__file__).parents[2] / "docs" / "schema"
STORED = Path(__file__).parents[1] / "stored"
FILES = sorted(STORED.glob("version_*/*.json"))
KINDS: dict[str, Any] = {"air": ha.Air, "hang": ha.Hang, "study": ha.Study, "venue": ha.Venue}


def read(path: Path) -> Any:
    text = path.read_text(encoding="utf-8")
    return KINDS[json.loads(text)["kind"]].from_json(text)


def stated(old: Any, new: Any, path: str = "") -> None:
    """Everything the old file states stands in the new one; what is new there has a default."""
    if isinstance(old, dict):
        for name, value in old.items():
            assert name in new, f"{path}.{name} is lost"
            stated(value, new[name], f"{path}.{name}")
    elif isinstance(old, list):
        assert len(old) == len(new), path
        for index, (one, other) in enumerate(zip(old, new, strict=True)):
            stated(one, other, f"{path}[{index}]")
    else:
        assert old == new, path


def test_there_is_a_file_of_each_kind_in_each_version() -> None:
    stored = {
        (document["kind"], document["version"])
        for document in (json.loads(path.read_text("utf-8")) for path in FILES)
    }
    written = {json.loads(read(path).to_json())["kind"]: read(path).to_json() for path in FILES}
    assert stored == {
        (kind, version)
        for kind, text in written.items()
        for version in range(1, json.loads(text)["version"] + 1)
    }
    assert set(written) == set(KINDS)


def test_the_quiet_places_of_a_study_of_version_1_are_kept() -> None:
    """They were named `ceilings` then; the place is as written in the file."""
    path = STORED / "version_1" / "study_quiet_places.json"
    study = read(path)
    (place,) = study.goals.quiet_places
    assert (place.name, place.place_m, place.most_db) == ("foyer (demo data)", (-4.0, 6.0, 1.5), -6)
    document = json.loads(path.read_text(encoding="utf-8"))
    assert type(study).from_dict(document["value"]) == study
    goals = document["value"]["goals"]
    goals["quiet_places"] = goals["ceilings"]
    with pytest.raises(ha.InputError, match="twice"):
        type(study).from_json(json.dumps(document))


@pytest.mark.parametrize("path", FILES, ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_a_stored_file_is_read_and_nothing_of_it_is_lost(path: Path) -> None:
    document = read(path)
    old = json.loads(path.read_text(encoding="utf-8"))
    new = json.loads(document.to_json())
    assert type(document).from_json(document.to_json()) == document
    if (old["kind"], old["version"]) == ("study", 1):
        goals = old["value"]["goals"]
        goals["quiet_places"] = goals.pop("ceilings")
    stated(old["value"], new["value"])


def test_stored_hangs_weigh_and_close_as_they_did() -> None:
    """Masses added up by hand; the closing force as it was when the files were written."""
    version_1 = STORED / "version_1"
    tension = read(version_1 / "hang_tension.json")
    assert ha.pose(tension, 0.0).mass_kg == 75.0 + 3 * 64.0
    compression = read(version_1 / "hang_compression.json")
    assert ha.pose(compression, 0.0).mass_kg == 75.0 + 4 * 64.0 + 22.0
    force_n = ha.close(compression, -2.0).closing_force_n
    assert force_n == pytest.approx(869.6467486373, rel=1e-9)


def schema_of(document: Any) -> jsonschema.Draft202012Validator:
    """The schema published for the kind and version of a document."""
    name = f"{document['kind']}-{document['version']}.json"
    text = (SCHEMAS / name).read_text(encoding="utf-8")
    schema = json.loads(text)
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema)


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_stored_files_and_what_is_written_now_fit_the_published_schema(path: Path) -> None:
    old = json.loads(path.read_text(encoding="utf-8"))
    new = json.loads(read(path).to_json())
    for document in (old, new):
        schema_of(document).validate(document)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda hang: hang["value"]["frame"].pop("mass_kg"), "'mass_kg' is a required property"),
        (lambda hang: hang["value"].update(colour="red"), "'colour' was unexpected"),
        (lambda hang: hang["value"]["splays_deg"].append("5"), "'5' is not of type 'number'"),
        (lambda hang: hang["value"].update(rigging="glue"), "'glue' is not valid"),
        (lambda hang: hang.update(version=2), "1 was expected"),
        (lambda hang: hang.update(kind="air"), "'hang' was expected"),
    ],
)
def test_what_the_library_refuses_by_kind_the_schema_refuses_too(change: Any, words: str) -> None:
    hang = json.loads((STORED / "version_1" / "hang_tension.json").read_text(encoding="utf-8"))
    validator = schema_of(hang)
    change(hang)
    with pytest.raises(jsonschema.ValidationError) as caught:
        validator.validate(hang)
    told = " ".join(error.message for error in [caught.value, *(caught.value.context or [])])
    assert words in told
    with pytest.raises(ha.InputError):
        ha.Hang.from_json(json.dumps(hang))
