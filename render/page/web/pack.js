// Undoes pack.go: differences as varints, compressed.

/** The rows of a packed table. */
export async function unpack(table) {
  const bytes = await inflate(Uint8Array.from(atob(table.data), (c) => c.charCodeAt(0)));
  let at = 0;
  const next = () => {
    let sum = 0;
    let unit = 1;
    let byte;
    do {
      byte = bytes[at++];
      sum += (byte & 127) * unit; // not by shifts, which end at 32 bits
      unit *= 128;
    } while (byte > 127);
    return sum % 2 ? -(sum + 1) / 2 : sum / 2;
  };
  return Array.from({ length: table.rows }, () => {
    const row = new Float32Array(table.columns);
    const last = new Float64Array(table.order); // the differences of each order, zero first
    for (let i = 0; i < row.length; i++) {
      let n = next();
      for (let k = table.order - 1; k >= 0; k--) n = last[k] += n;
      row[i] = n * table.step;
    }
    return row;
  });
}

async function inflate(bytes) {
  const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate"));
  return new Uint8Array(await new Response(stream).arrayBuffer());
}
