"""Pictures: the same bytes every time, alt text as the notebook's words, captions complete."""

from io import BytesIO

import numpy as np
from PIL import Image

from analysis.show import charts
from analysis.show.charts import style
from analysis.show.charts.picture import SCREEN_DPI, captions, words_only
from analysis.show.maps import density
from tests.show import examples


def test_saving_twice_gives_the_same_bytes(tmp_path):
    """PNG and SVG depend on the data alone."""
    for folder in ("one", "two"):
        charts.daily_chart(examples.daily(), band="6m", mechanism="ES").save(tmp_path / folder)
    names = sorted(path.name for path in (tmp_path / "one").iterdir())
    assert names == ["daily-6m-ES.png", "daily-6m-ES.svg"]
    for name in names:
        assert (tmp_path / "one" / name).read_bytes() == (tmp_path / "two" / name).read_bytes()


def test_print_is_300_dpi_and_svg_describes_itself(tmp_path):
    """180 mm at 300 dpi; the SVG carries title and alt text and no date."""
    picture = charts.daily_chart(examples.daily(), band="6m", mechanism="ES")
    png, svg = picture.save(tmp_path)
    with Image.open(png) as image:
        assert image.width == int(180 / 25.4 * 300)
    text = svg.read_text(encoding="utf-8")
    assert picture.title in text
    assert "<dc:date>" not in text


def test_notebooks_get_a_small_image_and_the_alt_text():
    """The stored output is light, and its words hold the numbers."""
    picture = charts.season_chart(examples.season(), band="6m", mechanism="ES")
    bundle, facts = picture._repr_mimebundle_()
    assert bundle["text/plain"] == picture.alt
    assert "late June" in picture.alt
    assert len(bundle["image/png"]) < 90_000
    with Image.open(BytesIO(bundle["image/png"])) as image:
        assert image.width == int(180 / 25.4 * SCREEN_DPI)
        assert facts["image/png"] == {"width": image.width // 2, "height": image.height // 2}


def test_words_only_adds_no_number():
    """A refusal says what it was given and nothing more."""
    picture = words_only("refused", "Nobody's listening is known.", title="No chance may be stated")
    assert not any(sign.isdigit() for sign in picture.alt + picture.caption + picture.title)


def test_captions_list_every_picture():
    """captions.json has title, caption, alt and file names by picture name."""
    picture = words_only("refused", "Why.", title="What")
    assert captions([picture]) == {
        "refused": {
            "title": "What",
            "caption": "Why.",
            "alt": "What. Why.",
            "png": "refused.png",
            "svg": "refused.svg",
        }
    }


def test_a_rare_colour_keeps_its_hue():
    """One path over sea among many over land is as blue on a page as it was drawn."""
    spots = examples.spots(n=600).assign(path_type="land")
    spots.loc[spots.index[:3], "path_type"] = "sea"
    picture = density.paths_map(spots, band="6m", mechanism="ES", home="IN93")
    raw = BytesIO()
    with style.look():
        picture.figure.savefig(raw, format="png", dpi=SCREEN_DPI)
    pixels = [
        np.asarray(Image.open(file).convert("RGB")).astype(int) for file in (raw, BytesIO(picture.png()))
    ]
    assert np.abs(pixels[0] - pixels[1]).max() <= 8
