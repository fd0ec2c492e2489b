# /usr/bin/python3 testdata/corpus/figures.py
#
# Writes, beside itself, small figures of every format after the formats' own descriptions
# (PNG and APNG, GIF89a, TIFF 6.0, PDF 1.4 with XMP, SVG, HTML), each with the same record of
# what made it, in surroundings that are odd but right; and figures that are broken or lie
# where no editor could write it: sums and lengths inside.
#
#   figures/right.EXT       odd but right
#   figures/NAME.EXT        hostile
#   numbers/origin.json     what is recorded

import json
import struct
import zlib
from pathlib import Path

HERE = Path(__file__).parent
RECORD = {
    "program": "calotte", "version": "0.1.0", "work": "map", "settings": {"at": "4ms", "title": "a < b & c \u00b5V \"\u2026\""},
    "arguments": ["--at=4ms", "own.tsv"], "inputs": [{"name": "own.tsv", "sha256": "00" * 32}],
}
TEXT = json.dumps(RECORD, ensure_ascii=False)


def put(name, content):
    path = HERE / name
    path.parent.mkdir(exist_ok=True)
    path.write_bytes(content if isinstance(content, bytes) else content.encode())


def chunk(kind, data, length=None, crc=None):
    body = kind + data
    return struct.pack(">I", len(data) if length is None else length) + body + struct.pack(">I", zlib.crc32(body) if crc is None else crc)


SIGNATURE = b"\x89PNG\r\n\x1a\n"
HEAD = chunk(b"IHDR", struct.pack(">IIBBBBB", 1, 1, 8, 0, 0, 0, 0))
IMAGE = chunk(b"IDAT", zlib.compress(b"\x00\x80"))
END = chunk(b"IEND", b"")
LEAD = b"Provenance\x00\x00\x00\x00\x00"


def png():
    other = chunk(b"tEXt", b"Provenance\x00{}") + chunk(b"iTXt", b"Comment\x00\x00\x00\x00\x00none") + chunk(b"pHYs", b"\x00\x00\x2e\x23\x00\x00\x2e\x23\x01")
    packed = chunk(b"iTXt", b"Provenance\x00\x01\x00\x00\x00" + zlib.compress(b"{}"))
    record = chunk(b"iTXt", LEAD + TEXT.encode())
    put("figures/right.png", SIGNATURE + HEAD + other + packed + record + IMAGE + END)
    film = chunk(b"acTL", struct.pack(">II", 1, 0))
    frame = chunk(b"fcTL", struct.pack(">IIIIIHHBB", 0, 1, 1, 0, 0, 1, 6, 0, 0))
    put("figures/right.apng", SIGNATURE + HEAD + film + record + frame + IMAGE + END)
    put("figures/none.png", SIGNATURE + HEAD + IMAGE + END)
    put("figures/sum.png", SIGNATURE + HEAD + chunk(b"iTXt", LEAD + TEXT.encode(), crc=0) + IMAGE + END)
    put("figures/length.png", SIGNATURE + HEAD + chunk(b"iTXt", LEAD + TEXT.encode(), length=0xFFFFFFF0) + IMAGE + END)
    put("figures/endless.png", SIGNATURE + HEAD)
    put("figures/short.png", SIGNATURE + HEAD + record[:40])
    bomb = zlib.compress(b"\x00" * (1 << 26), 9)
    put("figures/bomb.png", SIGNATURE + HEAD + chunk(b"zTXt", b"Provenance\x00\x00" + bomb) + IMAGE + END)
    put("figures/packed.png", SIGNATURE + HEAD + chunk(b"iTXt", b"Provenance\x00\x01\x00\x00\x00" + bomb[:1000]) + IMAGE + END)
    put("figures/null.png", SIGNATURE + HEAD + chunk(b"iTXt", LEAD + b"null") + IMAGE + END)


def gif():
    start = b"GIF89a" + struct.pack("<HHBBB", 1, 1, 0xF7, 0, 0) + bytes(768)
    blocks = lambda data: b"".join(bytes([len(data[i : i + 200])]) + data[i : i + 200] for i in range(0, len(data), 200)) + b"\x00"
    image = b"\x2c" + struct.pack("<HHHHB", 0, 0, 1, 1, 0) + b"\x08\x03\x00\x03\x02\x00\x3b"
    loop = b"\x21\xff\x0bNETSCAPE2.0\x03\x01\x00\x00\x00"
    comment = lambda text: b"\x21\xfe" + blocks(text)
    put("figures/right.gif", start + loop + comment(b"a film") + comment(b"Provenance: " + TEXT.encode()) + image)
    put("figures/none.gif", start + loop + image)
    put("figures/cut.gif", start + loop + comment(b"Provenance: " + TEXT.encode())[:100])
    put("figures/notable.gif", b"GIF89a" + struct.pack("<HHBBB", 1, 1, 0, 0, 0) + comment(b"Provenance: " + TEXT.encode()) + image)


def tiff(fields, data, at=8, count=None):
    directory = struct.pack("<H", len(fields) if count is None else count) + b"".join(struct.pack("<HHII", *f) for f in fields) + b"\x00" * 4
    return b"II*\x00" + struct.pack("<I", 8 + len(data) if at == 8 else at) + data + directory


def tiffs():
    text = TEXT.encode() + b"\x00"
    width = [(256, 3, 1, 1), (257, 3, 1, 1)]
    put("figures/right.tiff", tiff([*width, (270, 2, 3, 0x6968), (65000, 2, len(text), 8)], text))
    put("figures/none.tiff", tiff(width, b""))
    put("figures/far.tiff", tiff([(65000, 2, len(text), 0xFFFFFFF0)], text))
    put("figures/long.tiff", tiff([(65000, 2, 0x7FFFFFFF, 8)], text))
    put("figures/number.tiff", tiff([(65000, 4, 1, 8)], text))
    put("figures/many.tiff", tiff([(256, 3, 1, 1)], b"", count=65535))
    put("figures/outside.tiff", tiff(width, b"", at=0xFFFFFFF0))
    put("figures/itself.tiff", tiff(width, b"", at=4))


def escaped(text):
    return text.replace("&", "&amp;").replace("<", "&lt;")


def packet(content):
    return ('<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?><x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF '
            'xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#"><rdf:Description rdf:about="" xmlns:c="urn:calotte:provenance:1">'
            f'{content}</rdf:Description></rdf:RDF></x:xmpmeta><?xpacket end="w"?>').encode()


def pdf():
    record = packet(f"<c:provenance>{escaped(TEXT)}</c:provenance>")
    stream = lambda data: b"1 0 obj\n<< /Length %d >>\nstream\n" % len(data) + data + b"\nendstream\nendobj\n"
    noise = bytes(range(256)) * 255
    put("figures/right.pdf", b"%PDF-1.4\n" + stream(packet("<c:other/>")) + stream(noise) + stream(record) + b"%%EOF\n")
    put("figures/none.pdf", b"%PDF-1.4\n" + stream(packet("<c:other/>")) + b"%%EOF\n")
    put("figures/packets.pdf", b"%PDF-1.4\n" + packet("<c:other/>") * 40 + record)
    put("figures/open.pdf", b"%PDF-1.4\n" + record[: len(record) // 2])


def svg():
    head = '<svg xmlns="http://www.w3.org/2000/svg" width="1" height="1">'
    put("figures/right.svg", f"\ufeff<?xml version=\"1.0\"?>\r\n<!-- <metadata id='provenance'>{{}}</metadata> -->\r\n"
        f"<svg:svg xmlns:svg='http://www.w3.org/2000/svg'><svg:metadata id='other'/><svg:metadata class='a' id='provenance'>"
        f"<![CDATA[{TEXT}]]></svg:metadata></svg:svg>")
    put("figures/plain.svg", f'{head}<metadata id="provenance">{escaped(json.dumps(RECORD))}</metadata></svg>\n')


def html():
    text = TEXT.replace("<", "\\u003c").replace("&", "\\u0026")
    put("figures/right.html", f'<!doctype html>\n<title>a page</title>\n<script type="application/json" id="provenance">{text}</script>\n')


for make in (png, gif, tiffs, pdf, svg, html):
    make()
put("numbers/origin.json", json.dumps([{"made": RECORD, "inputs": [{"name": "own.tsv", "state": "not here"}]}], indent=0) + "\n")
