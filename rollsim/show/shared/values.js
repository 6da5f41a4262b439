// Numbers and words that every page needs: decoding arrays, ship axes to earth axes, units in words.
// Ship axes: y to starboard, z up from the keel. Earth axes, seen from astern: right, and up from
// where the water stands at the ship. Lengths in metres.

const page = JSON.parse(document.getElementById("data").textContent);
const arrays = page.blobs.map(decode);
const PRESENTED = 0.024; // type as a share of the window's height in presenter mode
const RADIAN = 180 / Math.PI;
const element = (name) => document.getElementById(name);
const presents = () => document.documentElement.classList.contains("presenter");

function decode(blob) {
  if ("count" in blob) {
    return new Float64Array(blob.count).fill(blob.same === null ? NaN : blob.same);
  }
  const bytes = Uint8Array.from(atob(blob.data), (letter) => letter.charCodeAt(0));
  if (blob.type === "f8") {
    return new Float64Array(bytes.buffer);
  }
  if (blob.type === "f4") {
    return Float64Array.from(new Float32Array(bytes.buffer));
  }
  const codes = new Int16Array(bytes.buffer);
  return Float64Array.from(codes, (code) => (code === -32768 ? NaN : code * blob.scale));
}

// The place of a point of the ship in earth axes; roll in degrees.
function toEarth([y, z], moment) {
  const [c, s] = [Math.cos(moment.roll / RADIAN), Math.sin(moment.roll / RADIAN)];
  return [y * c + (z - moment.draught) * s, (z - moment.draught) * c - y * s + moment.rise];
}

function sided(angle, digits = 1) {
  const side = angle > 0 ? " to starboard" : " to port";
  const size = Math.abs(angle).toFixed(digits);
  return Number(size) === 0 ? `${size}°` : `${size}°${side}`;
}

function metres(length) {
  const text = length.toFixed(3).replace("-", "−");
  return `${text === "−0.000" ? "0.000" : text} m`;
}

function option(select, value, text) {
  const made = document.createElement("option");
  made.value = value;
  made.textContent = text;
  select.append(made);
}

function listTo(name, texts) {
  for (const text of texts) {
    const item = document.createElement("li");
    item.textContent = text;
    element(name).append(item);
  }
}
