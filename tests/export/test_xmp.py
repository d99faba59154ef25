"""XMP: read back by Exiv2 (through pyexiv2), merged into what others wrote, embedded in stills."""

import io
import zlib
from fractions import Fraction

import numpy as np
import pytest
from PIL import Image

from framecheck.errors import ExportError
from framecheck.export.xmp_embed import embed, read_embedded
from framecheck.export.xmp_packet import make_packet, read_facts
from framecheck.media.headers import kind_of
from framecheck.records.xmp import XmpFacts, XmpMarker

pyexiv2 = pytest.importorskip("pyexiv2", reason="no wheel of Exiv2 for this machine")
FACTS = XmpFacts(
    shot_size="MCU",
    camera_angle="Over the Shoulder",
    keywords=("medium close-up", "two", "knee"),
    description="Medium close-up of two people <& more>",
    scenes=("010800", "010100"),
    numbers={"cropLevel": "0.713", "headroomFrac": "0.0820"},
)
OTHERS = """<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>
<!-- kept by hand -->
<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
<rdf:Description rdf:about="" xmlns:xmp="http://ns.adobe.com/xap/1.0/" xmp:Rating="4"
  xmlns:xmpDM="http://ns.adobe.com/xmp/1.0/DynamicMedia/" {attribute}
  xmlns:mine="http://example.com/mine/">
 <mine:thing rdf:parseType="Resource"><mine:depth>7</mine:depth></mine:thing>
 <dc:subject xmlns:dc="http://purl.org/dc/elements/1.1/"><rdf:Bag><rdf:li>harbour</rdf:li>
 <rdf:li>two</rdf:li></rdf:Bag></dc:subject>{more}
</rdf:Description></rdf:RDF></x:xmpmeta>
<?xpacket end="w"?>"""


def others(attribute="", more="") -> bytes:
    return OTHERS.format(attribute=attribute, more=more).encode()


def xmp_of(path):
    with pyexiv2.Image(str(path)) as image:
        return image.read_xmp()


@pytest.fixture
def sidecar(tmp_path):
    def write(packet):
        path = tmp_path / "a still.xmp"
        path.write_bytes(packet)
        return xmp_of(path)

    return write


def test_an_independent_reader_finds_every_property(sidecar) -> None:
    found = sidecar(make_packet(FACTS, None, "a.jpg"))
    assert found["Xmp.xmpDM.shotSize"] == "MCU"
    assert found["Xmp.xmpDM.cameraAngle"] == "Over the Shoulder"
    assert found["Xmp.dc.subject"] == ["medium close-up", "two", "knee"]
    assert found["Xmp.dc.description"] == {'lang="x-default"': FACTS.description}
    assert found["Xmp.iptc.Scene"] == ["010800", "010100"]
    assert found["Xmp.framecheck.framing/framecheck:cropLevel"] == "0.713"


def test_what_others_wrote_stays(sidecar) -> None:
    packet = make_packet(FACTS, others(), "a.jpg")
    found = sidecar(packet)
    assert found["Xmp.xmp.Rating"] == "4"
    assert found["Xmp.mine.thing/mine:depth"] == "7"
    assert found["Xmp.dc.subject"] == ["harbour", "two", "medium close-up", "knee"]
    assert packet.count(b"<!-- kept by hand -->") == 1
    assert make_packet(FACTS, packet, "a.jpg") == packet


def test_comments_are_no_lists(sidecar) -> None:
    theirs = others(more="<xmpDM:Tracks><!-- none --><rdf:Bag/></xmpDM:Tracks>")
    theirs = theirs.replace(b"<rdf:Bag><rdf:li>harbour", b"<!-- x --><rdf:Bag><rdf:li>harbour")
    found = sidecar(make_packet(FACTS, theirs, "a.jpg"))
    assert found["Xmp.dc.subject"] == ["harbour", "two", "medium close-up", "knee"]


def test_a_second_run_replaces_only_its_own(sidecar) -> None:
    first = make_packet(FACTS, others(), "a.jpg")
    wide = XmpFacts(shot_size="WS", keywords=("wide", "two"), numbers={"cropLevel": "-0.100"})
    found = sidecar(make_packet(wide, first, "a.jpg"))
    assert found["Xmp.xmpDM.shotSize"] == "WS"
    assert "Xmp.xmpDM.cameraAngle" not in found
    assert "Xmp.dc.description" not in found
    assert "Xmp.iptc.Scene" not in found
    assert found["Xmp.dc.subject"] == ["harbour", "two", "wide"]
    assert found["Xmp.framecheck.framing/framecheck:cropLevel"] == "-0.100"
    assert "Xmp.framecheck.framing/framecheck:headroomFrac" not in found
    assert make_packet(wide, make_packet(wide, first, "a"), "a") == make_packet(wide, first, "a")


def test_what_somebody_decided_is_not_overruled(sidecar) -> None:
    more = (
        '<dc:description xmlns:dc="http://purl.org/dc/elements/1.1/"><rdf:Alt><rdf:li '
        'xml:lang="x-default">Their words</rdf:li></rdf:Alt></dc:description>'
    )
    found = sidecar(make_packet(FACTS, others('xmpDM:shotSize="ECU"', more), "a.jpg"))
    assert found["Xmp.xmpDM.shotSize"] == "ECU"
    assert found["Xmp.dc.description"] == {'lang="x-default"': "Their words"}
    assert found["Xmp.xmpDM.cameraAngle"] == "Over the Shoulder"


def test_shots_of_a_clip_are_markers(sidecar) -> None:
    markers = (
        XmpMarker(start_frame=0, frames=50, name="MCU single", comment="medium close-up"),
        XmpMarker(start_frame=50, frames=40, name="FS single", comment="full"),
    )
    facts = XmpFacts(markers=markers, rate=Fraction(24000, 1001))
    track = (
        '<xmpDM:Tracks><rdf:Bag><rdf:li rdf:parseType="Resource"><xmpDM:trackName>Markers of others'
        "</xmpDM:trackName></rdf:li></rdf:Bag></xmpDM:Tracks>"
    )
    once = make_packet(facts, others(more=track), "a.mov")
    found = sidecar(make_packet(facts, once, "a.mov"))
    assert found["Xmp.xmpDM.Tracks[1]/xmpDM:trackName"] == "Markers of others"
    assert found["Xmp.xmpDM.Tracks[2]/xmpDM:frameRate"] == "f24000s1001"
    assert found["Xmp.xmpDM.Tracks[2]/xmpDM:markers[2]/xmpDM:startTime"] == "50"
    assert found["Xmp.xmpDM.Tracks[2]/xmpDM:markers[1]/xmpDM:name"] == "MCU single"
    assert not any(key.startswith("Xmp.xmpDM.Tracks[3]") for key in found)


def test_our_own_numbers_come_back() -> None:
    found = read_facts(make_packet(FACTS, others(), "a.jpg"), "a.jpg")
    assert found["cropLevel"] == "0.713"
    assert read_facts(others(), "a.jpg") == {}


LAUGHS = (
    b'<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a "aaaaaaaaaa">'
    + b"".join(b'<!ENTITY %c "%s">' % (c, b"&%c;" % (c - 1) * 10) for c in range(98, 107))
    + b"]><x>&j;</x>"
)


@pytest.mark.parametrize(
    "bad",
    [
        b"words", b"<x", b"<x/>", b"\0" * 50, b"\xff\xfe\xfd", LAUGHS,
        b'<!DOCTYPE x [<!ENTITY e SYSTEM "file:///etc/hostname">]><x>&e;</x>',
        b"<a>" * 100_000, b"<?xml version='1.0'?>", b" " * 10_000_001 + b"<x/>",
        others().replace(b"rdf:RDF", b"rdf:XYZ"),
    ],
    ids=range(11),
)  # fmt: skip
def test_hostile_sidecars_get_one_clear_line(bad) -> None:
    with pytest.raises(ExportError, match="cannot be merged") as caught:
        make_packet(FACTS, bad, "a still.xmp")
    assert "a still.xmp" in str(caught.value)
    assert len(str(caught.value)) < 400
    assert "\n" not in str(caught.value)


def a_picture(kind, **more) -> bytes:
    rng = np.random.default_rng(5)
    rgb = rng.integers(0, 255, (37, 51, 3), dtype=np.uint8)
    target = io.BytesIO()
    mode = more.pop("mode", "RGB")
    Image.fromarray(rgb).convert(mode).save(target, kind, **more)
    return target.getvalue()


PICTURES = {
    "jpeg": a_picture("JPEG"), "progressive": a_picture("JPEG", progressive=True),
    "png": a_picture("PNG"), "tiff": a_picture("TIFF"),
    "tiff packed": a_picture("TIFF", compression="tiff_lzw"),
    "webp": a_picture("WEBP"), "webp exact": a_picture("WEBP", lossless=True),
    "webp alpha": a_picture("WEBP", lossless=True, mode="RGBA"),
    "webp lossy alpha": a_picture("WEBP", mode="RGBA"),
}  # fmt: skip


@pytest.mark.parametrize("name", PICTURES)
def test_embedding_leaves_the_picture_alone(name, tmp_path) -> None:
    data = PICTURES[name]
    kind = kind_of(data)
    assert read_embedded(data, kind, name) is None
    packet = make_packet(FACTS, None, name)
    made = embed(data, kind, packet, name)
    assert read_embedded(made, kind, name) == packet
    before, after = (np.asarray(Image.open(io.BytesIO(content))) for content in (data, made))
    assert np.array_equal(before, after)
    path = tmp_path / "a picture"
    path.write_bytes(made)
    found = xmp_of(path)
    assert found["Xmp.xmpDM.shotSize"] == "MCU"
    # once more, with another packet: the first one is gone
    other = make_packet(XmpFacts(shot_size="WS"), packet, name)
    twice = embed(made, kind, other, name)
    assert read_embedded(twice, kind, name) == other
    assert np.array_equal(before, np.asarray(Image.open(io.BytesIO(twice))))
    assert len(twice) <= len(made) + (len(made) if kind == "TIFF" else 0)


def test_exif_and_profiles_survive(tmp_path) -> None:
    exif = Image.Exif()
    exif[0x010E] = "their words"
    data = a_picture("JPEG", exif=exif, icc_profile=b"profile" * 9, dpi=(72, 72))
    made = embed(data, "JPEG", make_packet(FACTS, None, "a"), "a")
    picture = Image.open(io.BytesIO(made))
    assert picture.getexif()[0x010E] == "their words"
    assert picture.info["icc_profile"] == b"profile" * 9
    tiff = a_picture("TIFF", description="their words", compression="tiff_deflate")
    again = Image.open(io.BytesIO(embed(tiff, "TIFF", make_packet(FACTS, None, "a"), "a")))
    assert again.tag_v2[270] == "their words"


def test_all_pages_of_a_tiff_survive() -> None:
    pages = [Image.new("L", (20, 20), value) for value in (10, 200)]
    target = io.BytesIO()
    pages[0].save(target, "TIFF", save_all=True, append_images=pages[1:])
    made = Image.open(io.BytesIO(embed(target.getvalue(), "TIFF", b"<x/>     ", "a")))
    assert made.n_frames == 2
    made.seek(1)
    assert np.asarray(made)[0, 0] == 200


def test_a_compressed_packet_of_a_png_is_read() -> None:
    from PIL.PngImagePlugin import PngInfo

    info = PngInfo()
    info.add_itxt("XML:com.adobe.xmp", others().decode(), zip=True)
    data = a_picture("PNG", pnginfo=info)
    assert read_embedded(data, "PNG", "a") == others()


def test_a_packed_bomb_is_refused() -> None:
    from PIL.PngImagePlugin import PngInfo

    info = PngInfo()
    info.add_itxt("XML:com.adobe.xmp", " " * 11_000_000, zip=True)
    with pytest.raises(ExportError, match="larger than 10 MB"):
        read_embedded(a_picture("PNG", pnginfo=info), "PNG", "a")


def test_a_packet_too_large_for_a_jpeg() -> None:
    with pytest.raises(ExportError, match="65533 bytes"):
        embed(PICTURES["jpeg"], "JPEG", b"x" * 70_000, "a.jpg")


def test_kinds_that_hold_none() -> None:
    with pytest.raises(ExportError, match="holds no XMP"):
        embed(b"BM", "BMP", b"", "a.bmp")


@pytest.mark.parametrize("name", ["jpeg", "png", "tiff", "webp"])
def test_broken_files_are_told_and_never_hang(name) -> None:
    data = PICTURES[name]
    kind = kind_of(data)
    rng = np.random.default_rng(7)
    outcomes = set()
    for _ in range(300):
        broken = bytearray(data[: rng.integers(4, len(data))])
        for _ in range(rng.integers(0, 4)):
            broken[rng.integers(0, min(64, len(broken)))] = rng.integers(0, 256)
        try:
            embed(bytes(broken), kind, b"<x/>", name)
            outcomes.add("made")
        except ExportError as error:
            outcomes.add(f"told of {name}" if name in str(error) else str(error))
    assert f"told of {name}" in outcomes
    assert outcomes <= {f"told of {name}", "made"}


def test_the_check_sum_of_a_png_chunk_is_right() -> None:
    made = embed(PICTURES["png"], "PNG", b"<x/>", "a")
    at = made.index(b"iTXt")
    length = int.from_bytes(made[at - 4 : at], "big")
    body = made[at : at + 4 + length]
    assert int.from_bytes(made[at + 4 + length : at + 8 + length], "big") == zlib.crc32(body)
