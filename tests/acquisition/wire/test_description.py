import pytest

from feltload.acquisition import load_rig, load_stream_description, shipped_descriptions
from feltload.acquisition.errors import DescriptionError

RIG = """
name = "bench"
[[streams]]
description = "reference-force"
name = "cell"
side = "left"
rated_capacity_n = 2000
link = { port = "/dev/ttyACM0" }
set = { force = { unit = "N", scale = 0.0125, zero = 81 } }
[[streams]]
description = "reference-inertial"
link = { port = "/dev/ttyACM0" }
"""


def written(tmp_path, text):
    path = tmp_path / "rig.toml"
    path.write_text(text)
    return path


def test_rig_lays_its_keys_over_a_shipped_description(tmp_path):
    rig = load_rig(written(tmp_path, RIG))
    cell = rig.stream("cell")
    assert (cell.side, cell.rated_capacity_n, cell.link.baud) == ("left", 2000, 115_200)
    assert cell.field("force").scale == 0.0125
    assert rig.channel_of("inertial") == "cell"
    assert list(rig.channels()) == ["cell"]


def test_description_file_beside_the_rig(tmp_path):
    (tmp_path / "mine.toml").write_text(
        'name = "a"\nkind = "force"\nframing = "lines"\nfields = [{ name = "force", unit = "lbf" }]\n'
    )
    rig = load_rig(written(tmp_path, '[[streams]]\ndescription = "mine.toml"\nname = "b"\n'))
    assert rig.stream("b").field("force").unit == "lbf"


@pytest.mark.parametrize(
    "change, said",
    [
        (("side", "sid"), r"rig\.toml: streams\.0\.sid: unknown key"),
        (('"left"', '"top"'), r"streams\.0\.side"),
        (("force = {", "torque = {"), r"no field torque"),
        (('unit = "N"', 'unit = "Nm"'), r"must be one of N, kN, kgf, lbf"),
        (("reference-force", "reference-forse"), r"give a file, or one of"),
        (("rated_capacity_n = 2000", "rated_capacity_n = -1"), r"rated_capacity_n"),
        (('name = "bench"', "name = "), r"is not TOML"),
    ],
)
def test_errors_name_file_key_and_remedy(tmp_path, change, said):
    with pytest.raises(DescriptionError, match=said) as caught:
        load_rig(written(tmp_path, RIG.replace(*change)))
    assert "rig.toml" in str(caught.value) and "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('name = "bench"\n', "no streams; add a"),
        ("streams = []\n", "no streams; add a"),
        ("streams = 3\n", "no streams; add a"),
        ('streams = ["reference-force"]\n', r"streams\[0\]: must be a table"),
        (
            RIG.replace('description = "reference-force"', "description = 5"),
            "description: must be a name or a path",
        ),
        (RIG.replace("set = { force = {", "set = 5 #"), r"streams\[0\]: set: must be a table of fields"),
        (RIG.replace("set = { force = {", "set = { force = 5 } #"), r"set.force: must be a table"),
    ],
)
def test_rigs_of_another_shape(tmp_path, text, said):
    with pytest.raises(DescriptionError, match=said):
        load_rig(written(tmp_path, text))


def test_a_description_that_is_no_text_is_one_clear_line(tmp_path):
    (tmp_path / "mine.toml").write_bytes(b"name = \xff")
    rig = written(tmp_path, '[[streams]]\ndescription = "mine.toml"\n')
    with pytest.raises(DescriptionError, match=r"mine\.toml: is not UTF-8 text"):
        load_rig(rig)
    rig.write_bytes(b"name = \xff")
    with pytest.raises(DescriptionError, match=r"rig\.toml: is not UTF-8 text"):
        load_rig(rig)


def test_missing_file(tmp_path):
    with pytest.raises(DescriptionError, match="no such rig file"):
        load_rig(tmp_path / "none.toml")


@pytest.mark.parametrize("name", shipped_descriptions())
def test_shipped_descriptions_load(name):
    assert load_stream_description(name).fields
