"""XMP packets (ISO 16684-1): made anew, or merged into what somebody else has written.

Everything that was there stays, but for what an earlier run of this program has written: a
structure of our own keeps that, so that it can be told apart from what people have entered. A shot
size, angle or description that somebody else has set is left alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, TypeAlias

from framecheck.errors import ConfigError, ExportError
from framecheck.records.xmp import XmpFacts, XmpMarker

if TYPE_CHECKING:
    from lxml import etree

    Element: TypeAlias = etree._Element

MOST_BYTES = 10_000_000
OWN = "http://ns.framecheck.invalid/framing/1.0/"
"""Our own namespace; the domain is one that nobody can ever own (RFC 2606)."""
NAMESPACES = {
    "x": "adobe:ns:meta/",
    "rdf": "http://www.w3.org/1999/02/22-rdf-syntax-ns#",
    "dc": "http://purl.org/dc/elements/1.1/",
    "xmpDM": "http://ns.adobe.com/xmp/1.0/DynamicMedia/",
    "Iptc4xmpCore": "http://iptc.org/std/Iptc4xmpCore/1.0/xmlns/",
    "framecheck": OWN,
}
_XML_LANG = "{http://www.w3.org/XML/1998/namespace}lang"
_BEGIN = '<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>\n'
_END = '\n<?xpacket end="w"?>'
_TRACK = "framecheck"
_ILLEGAL = {code: " " for code in range(0x20) if code not in {0x9, 0xA, 0xD}} | {
    0xFFFE: " ", 0xFFFF: " ",
}  # fmt: skip


def make_packet(facts: XmpFacts, existing: bytes | None, where: str) -> bytes:
    """A packet with the facts, merged into an existing one.

    Args:
        facts: to say.
        existing: a packet or sidecar; None to begin anew.
        where: the file, for messages.

    Raises:
        ExportError: the existing one is no XMP, too large, or not safe to read.
        ConfigError: the library for it is not installed.
    """
    etree = _library()
    root = _parse(existing, where) if existing is not None and existing.strip() else _empty()
    rdf = next(root.iter(_tag("rdf:RDF")), None)
    if rdf is None:
        raise _broken(where, "it holds no rdf:RDF")
    _Merge(rdf).write(facts)
    etree.cleanup_namespaces(root, top_nsmap=NAMESPACES, keep_ns_prefixes=["rdf", "x"])
    body = str(etree.tostring(root, encoding="unicode", with_tail=False))
    return (_BEGIN + _comments_before(root, etree) + body + _END).encode()


def _comments_before(root: Element, etree: Any) -> str:  # noqa: ANN401  # the module itself
    found = [node for node in root.itersiblings(preceding=True) if node.tag is etree.Comment]
    return "".join(
        f"{etree.tostring(node, encoding='unicode', with_tail=False)}\n" for node in found[::-1]
    )


def read_facts(packet: bytes, where: str) -> dict[str, str]:
    """What our own structure in a packet says, by name; empty when there is none.

    Raises:
        ExportError: it is no XMP.
    """
    root = _parse(packet, where)
    own = next(root.iter(_tag("framecheck:framing")), None)
    if own is None:
        return {}
    return {_local(child): child.text or "" for child in own if len(child) == 0}


class _Merge:
    """Changes one rdf:RDF in place."""

    def __init__(self, rdf: Element) -> None:
        self._rdf = rdf
        self._described = [child for child in rdf if child.tag == _tag("rdf:Description")]
        if not self._described:
            self._described = [_add(rdf, "rdf:Description")]
            self._described[0].set(_tag("rdf:about"), "")

    def write(self, facts: XmpFacts) -> None:
        own = self._find("framecheck:framing")
        before = _structure(own)
        for element in [own] if own is not None else []:
            _drop(element)
        written = {
            "shotSize": self._simple("xmpDM:shotSize", facts.shot_size, before),
            "cameraAngle": self._simple("xmpDM:cameraAngle", facts.camera_angle, before),
            "description": self._description(facts.description, before),
        }
        lists = {
            "keywords": self._bag("dc:subject", facts.keywords, before.get("keywords", ())),
            "scenes": self._bag("Iptc4xmpCore:Scene", facts.scenes, before.get("scenes", ())),
        }
        self._tracks(facts)
        self._own(facts, written, lists)

    def _own(
        self, facts: XmpFacts, written: dict[str, str], lists: dict[str, Sequence[str]]
    ) -> None:
        own = _add(self._described[0], "framecheck:framing")
        own.set(_tag("rdf:parseType"), "Resource")
        for name, value in {**written, **facts.numbers}.items():
            if value:
                _add(own, f"framecheck:{name}", value)
        for name, values in lists.items():
            if values:
                _fill(_add(_add(own, f"framecheck:{name}"), "rdf:Bag"), values)

    def _simple(self, name: str, value: str, before: dict[str, tuple[str, ...]]) -> str:
        """Set a property, unless somebody else has; what we have written of it, "" for nothing."""
        there = self._value(name)
        ours = there in before.get(_local_name(name), ())
        if there and not ours:
            return ""
        if there == value:
            return value
        self._remove(name)
        if value:
            _add(self._described[0], name, value)
        return value

    def _description(self, value: str, before: dict[str, tuple[str, ...]]) -> str:
        element = self._find("dc:description")
        there = "" if element is None else "".join(element.itertext()).strip()
        if there and there not in before.get("description", ()):
            return ""
        if there == value:
            return value
        self._remove("dc:description")
        if value:
            item = _add(
                _add(_add(self._described[0], "dc:description"), "rdf:Alt"), "rdf:li", value
            )
            item.set(_XML_LANG, "x-default")
        return value

    def _bag(self, name: str, values: Sequence[str], before: Sequence[str]) -> Sequence[str]:
        """Add the values that are not there; those among them that are ours."""
        element = self._find(name)
        bag = _container(element)
        if bag is not None:
            stale = set(before) - set(values)
            for item in [item for item in bag if (item.text or "").strip() in stale]:
                _drop(item)
        there = {(item.text or "").strip() for item in bag} if bag is not None else set()
        added = [value for value in dict.fromkeys(values) if value not in there]
        if bag is None and added:
            self._remove(name)
            bag = _add(_add(self._described[0], name), "rdf:Bag")
        if bag is not None and added:
            _fill(bag, added)
        elif bag is not None and element is not None and len(bag) == 0:
            _drop(element)
        return [value for value in dict.fromkeys(values) if value in before or value in added]

    def _tracks(self, facts: XmpFacts) -> None:
        tracks = self._find("xmpDM:Tracks")
        bag = _container(tracks)
        for item in list(bag) if bag is not None else []:
            names = [node.text for node in item.iter(_tag("xmpDM:trackName"))]
            names += [value for node in item.iter() if (value := node.get(_tag("xmpDM:trackName")))]
            if _TRACK in names:
                _drop(item)
        if not facts.markers:
            if tracks is not None and bag is not None and len(bag) == 0:
                _drop(tracks)
            return
        if bag is None:
            self._remove("xmpDM:Tracks")
            bag = _add(_add(self._described[0], "xmpDM:Tracks"), "rdf:Bag")
        track = _resource(bag)
        _add(track, "xmpDM:trackName", _TRACK)
        rate = facts.rate
        base = f"f{rate.numerator}" + (f"s{rate.denominator}" if rate.denominator != 1 else "")
        _add(track, "xmpDM:frameRate", base)
        _add_markers(_add(_add(track, "xmpDM:markers"), "rdf:Seq"), facts.markers)

    def _value(self, name: str) -> str:
        tag = _tag(name)
        for described in self._described:
            value = described.get(tag)
            if value:
                return str(value).strip()
        element = self._find(name)
        return "" if element is None else "".join(element.itertext()).strip()

    def _find(self, name: str) -> Element | None:
        tag = _tag(name)
        found = (child for described in self._described for child in described if child.tag == tag)
        return next(found, None)

    def _remove(self, name: str) -> None:
        tag = _tag(name)
        for described in self._described:
            if tag in described.attrib:
                del described.attrib[tag]
            for child in [child for child in described if child.tag == tag]:
                _drop(child)


def _add_markers(sequence: Element, markers: Sequence[XmpMarker]) -> None:
    for marker in markers:
        item = _resource(sequence)
        _add(item, "xmpDM:startTime", str(marker.start_frame))
        _add(item, "xmpDM:duration", str(marker.frames))
        _add(item, "xmpDM:name", marker.name)
        _add(item, "xmpDM:comment", marker.comment)
        _add(item, "xmpDM:type", "Chapter")


def _container(element: Element | None) -> Element | None:
    """The bag in a property; comments may stand before it."""
    if element is None:
        return None
    return next((child for child in element if isinstance(child.tag, str)), None)


def _structure(own: Element | None) -> dict[str, tuple[str, ...]]:
    """Each field of our structure with its values, one or as many as its bag holds."""
    if own is None:
        return {}
    return {
        _local(child): tuple(
            (node.text or "").strip()
            for node in (child.iter(_tag("rdf:li")) if len(child) else [child])
        )
        for child in own
    }


def _parse(data: bytes, where: str) -> Element:
    etree = _library()
    if len(data) > MOST_BYTES:
        raise _broken(where, f"it is larger than {MOST_BYTES // 1_000_000} MB")
    parser = etree.XMLParser(
        resolve_entities=False, no_network=True, load_dtd=False, huge_tree=False
    )
    try:
        root: Element = etree.fromstring(data.lstrip(b"\xef\xbb\xbf \t\r\n"), parser)
    except (etree.XMLSyntaxError, ValueError) as error:
        raise _broken(where, " ".join(str(error).split())[:160]) from error
    if root.getroottree().docinfo.doctype:
        raise _broken(where, "it brings a document type of its own, which XMP has not")
    return root


def _empty() -> Element:
    etree = _library()
    root: Element = etree.Element(_tag("x:xmpmeta"), nsmap={"x": NAMESPACES["x"]})
    etree.SubElement(root, _tag("rdf:RDF"), nsmap={"rdf": NAMESPACES["rdf"]})
    return root


def _broken(where: str, reason: str) -> ExportError:
    return ExportError(
        f"the XMP of {where} cannot be merged ({reason}); it was left as it is; mend it or move it "
        "away",
        where=where,
    )


def _resource(parent: Element) -> Element:
    item = _add(parent, "rdf:li")
    item.set(_tag("rdf:parseType"), "Resource")
    return item


def _fill(bag: Element, values: Sequence[str]) -> None:
    for value in values:
        _add(bag, "rdf:li", value)


def _add(parent: Element, name: str, text: str = "") -> Element:
    etree = _library()
    prefix = name.partition(":")[0]
    made: Element = etree.SubElement(parent, _tag(name), nsmap={prefix: NAMESPACES[prefix]})
    if text:
        made.text = text.encode("utf-8", "replace").decode().translate(_ILLEGAL)
    return made


def _drop(element: Element) -> None:
    parent = element.getparent()
    if parent is not None:
        parent.remove(element)


def _tag(name: str) -> str:
    prefix, _, local = name.partition(":")
    return f"{{{NAMESPACES[prefix]}}}{local}"


def _local(element: Element) -> str:
    return str(element.tag).rpartition("}")[2]


def _local_name(name: str) -> str:
    return name.partition(":")[2]


def _library() -> Any:  # noqa: ANN401  # the module itself
    try:
        from lxml import etree
    except ImportError as error:
        raise ConfigError("XMP needs lxml: pip install 'framecheck[xmp]'") from error
    return etree
