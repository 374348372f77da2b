// Files of outlines in every form that is read, written here by their published layouts.
import { crc32 } from 'node:zlib';

const closed = (ring) => [...ring, ring[0]];

export const geojson = (blocks) =>
  JSON.stringify({
    type: 'FeatureCollection',
    features: blocks.map(([name, ring]) => ({
      type: 'Feature',
      properties: { name },
      geometry: { type: 'Polygon', coordinates: [closed(ring)] },
    })),
  });

export const kml = (blocks) =>
  `<?xml version="1.0"?><kml xmlns="http://www.opengis.net/kml/2.2"><Document>${blocks
    .map(
      ([name, ring]) =>
        `<Placemark><name>${name}</name><Polygon><outerBoundaryIs><LinearRing><coordinates>${closed(ring)
          .map(([x, y]) => `${x},${y},0`)
          .join(' ')}</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark>`,
    )
    .join('')}</Document></kml>`;

export const gpx = (blocks) =>
  `<?xml version="1.0"?><gpx version="1.1" creator="test" xmlns="http://www.topografix.com/GPX/1/1">${blocks
    .map(
      ([name, ring]) =>
        `<trk><name>${name}</name><trkseg>${closed(ring)
          .map(([x, y]) => `<trkpt lat="${y}" lon="${x}"/>`)
          .join('')}</trkseg></trk>`,
    )
    .join('')}</gpx>`;

/** An archive whose files are stored as they are. */
function zip(files) {
  const parts = [];
  const list = [];
  let at = 0;
  for (const [name, text] of files) {
    const data = Buffer.from(text);
    const title = Buffer.from(name);
    const head = Buffer.alloc(26);
    head.writeUInt16LE(20, 0);
    head.writeUInt16LE(0x21, 8);
    head.writeUInt32LE(crc32(data), 10);
    head.writeUInt32LE(data.length, 14);
    head.writeUInt32LE(data.length, 18);
    head.writeUInt16LE(title.length, 22);
    parts.push(Buffer.from('PK\x03\x04', 'latin1'), head, title, data);
    const entry = Buffer.alloc(14);
    entry.writeUInt32LE(at, 10);
    list.push(Buffer.from('PK\x01\x02\x14\x00', 'latin1'), head, entry, title);
    at += 30 + title.length + data.length;
  }
  const size = list.reduce((sum, b) => sum + b.length, 0);
  const end = Buffer.alloc(18);
  end.writeUInt16LE(files.length, 4);
  end.writeUInt16LE(files.length, 6);
  end.writeUInt32LE(size, 8);
  end.writeUInt32LE(at, 12);
  return Buffer.concat([...parts, ...list, Buffer.from('PK\x05\x06', 'latin1'), end]);
}

export const kmz = (blocks) => zip([['doc.kml', kml(blocks)]]);

/** A zipped shapefile of polygons with a name each. */
export function shapefile(blocks) {
  const header = (bytes, all) => {
    const h = Buffer.alloc(100);
    h.writeInt32BE(9994, 0);
    h.writeInt32BE(bytes / 2, 24);
    h.writeInt32LE(1000, 28);
    h.writeInt32LE(5, 32);
    box(all).forEach((v, i) => h.writeDoubleLE(v, 36 + 8 * i));
    return h;
  };
  const box = (ring) => {
    const [xs, ys] = [ring.map((c) => c[0]), ring.map((c) => c[1])];
    return [Math.min(...xs), Math.min(...ys), Math.max(...xs), Math.max(...ys)];
  };
  const shapes = [];
  const index = [];
  const rows = [];
  let at = 50;
  blocks.forEach(([name, ring], n) => {
    // Outer rings of this form run clockwise.
    const corners = closed(ring).reverse();
    const body = Buffer.alloc(48 + 16 * corners.length);
    body.writeInt32LE(5, 0);
    box(corners).forEach((v, i) => body.writeDoubleLE(v, 4 + 8 * i));
    body.writeInt32LE(1, 36);
    body.writeInt32LE(corners.length, 40);
    corners.forEach(([x, y], i) => {
      body.writeDoubleLE(x, 48 + 16 * i);
      body.writeDoubleLE(y, 56 + 16 * i);
    });
    const head = Buffer.alloc(8);
    head.writeInt32BE(n + 1, 0);
    head.writeInt32BE(body.length / 2, 4);
    const entry = Buffer.alloc(8);
    entry.writeInt32BE(at, 0);
    entry.writeInt32BE(body.length / 2, 4);
    at += (8 + body.length) / 2;
    shapes.push(head, body);
    index.push(entry);
    rows.push(Buffer.from(` ${name.padEnd(40)}`, 'latin1'));
  });
  const all = blocks.flatMap(([, ring]) => ring);
  const records = Buffer.concat(shapes);
  const dbf = Buffer.alloc(65);
  dbf[0] = 3;
  dbf[1] = 126;
  dbf[2] = 1;
  dbf[3] = 1;
  dbf.writeUInt32LE(blocks.length, 4);
  dbf.writeUInt16LE(65, 8);
  dbf.writeUInt16LE(41, 10);
  dbf.write('name', 32, 'latin1');
  dbf.write('C', 43, 'latin1');
  dbf[48] = 40;
  dbf[64] = 0x0d;
  const wgs84 =
    'GEOGCS["GCS_WGS_1984",DATUM["D_WGS_1984",SPHEROID["WGS_1984",6378137.0,298.257223563]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]]';
  return zip([
    ['farm.shp', Buffer.concat([header(100 + records.length, all), records])],
    ['farm.shx', Buffer.concat([header(100 + 8 * blocks.length, all), ...index])],
    ['farm.dbf', Buffer.concat([dbf, ...rows, Buffer.from([0x1a])])],
    ['farm.prj', wgs84],
  ]);
}
