// A file of plain values as TOML, key for key.

function tomlValue(value) {
  if (typeof value === "string") {
    return JSON.stringify(value).replace(/\u007f/g, "\\u007f");
  }
  if (Array.isArray(value)) {
    return `[${value.map(tomlValue).join(", ")}]`;
  }
  if (value && typeof value === "object") {
    const pairs = Object.entries(value).map(([key, each]) => `${tomlKey(key)} = ${tomlValue(each)}`);
    return `{ ${pairs.join(", ")} }`;
  }
  return String(value);
}

const tomlKey = (key) => (/^[A-Za-z0-9_-]+$/.test(key) ? key : JSON.stringify(key));
const isTable = (value) => value !== null && typeof value === "object" && !Array.isArray(value);
const isTables = (value) => Array.isArray(value) && value.length > 0 && value.every(isTable);

// The lines of a table: its values first, then the tables in it.
function tomlTable(table, path = []) {
  const entries = Object.entries(table).filter(([, value]) => value !== undefined && value !== null);
  const lines = entries
    .filter(([, value]) => !isTable(value) && !isTables(value))
    .map(([key, value]) => `${tomlKey(key)} = ${tomlValue(value)}`);
  for (const [key, value] of entries) {
    const name = [...path, tomlKey(key)];
    if (isTable(value)) {
      lines.push("", `[${name.join(".")}]`, ...tomlTable(value, name));
    } else if (isTables(value)) {
      for (const each of value) {
        lines.push("", `[[${name.join(".")}]]`, ...tomlTable(each, name));
      }
    }
  }
  return lines;
}

function toToml(file, remarks) {
  return [...remarks.map((line) => `# ${line}`), ...tomlTable(file), ""].join("\n");
}
