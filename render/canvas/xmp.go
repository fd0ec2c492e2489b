package canvas

import "fmt"

// xmpSpace names the property that holds the provenance in a PDF's metadata.
const xmpSpace = "urn:calotte:provenance:1"

// xmpPacket is the PDF's metadata (XMP, ISO 16684-1): title, description and
// the provenance as JSON. It stands in the file as plain text, as XMP asks, so
// that it can be found without reading the PDF's structure.
func xmpPacket(f Figure, o origin) []byte {
	return fmt.Appendf(nil, `%s" id="W5M0MpCehiHzreSzNTczkc9d"?>
<x:xmpmeta xmlns:x="adobe:ns:meta/">
<rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
<rdf:Description rdf:about="" xmlns:dc="http://purl.org/dc/elements/1.1/" xmlns:xmp="http://ns.adobe.com/xap/1.0/" xmlns:calotte="%s">
<dc:title><rdf:Alt><rdf:li xml:lang="x-default">%s</rdf:li></rdf:Alt></dc:title>
<dc:description><rdf:Alt><rdf:li xml:lang="x-default">%s</rdf:li></rdf:Alt></dc:description>
<xmp:CreatorTool>%s</xmp:CreatorTool>
<calotte:provenance>%s</calotte:provenance>
</rdf:Description>
</rdf:RDF>
</x:xmpmeta>
<?xpacket end="r"?>`, xmpBegin+"\ufeff", xmpSpace,
		escaped(f.Title()), escaped(f.Description()), escaped(o.software), escaped(string(o.record)))
}

// xmpBegin is how every packet begins.
const xmpBegin = `<?xpacket begin="`
