// @ts-check
// As much of a CSV file as the page needs before the site reads it: which rounds and raters its rows name.

/** The fields of a line. @param {string} line @param {string} between */
function fields(line, between) {
  const all = [''];
  let inside = false;
  for (let i = 0; i < line.length; ++i) {
    const letter = line[i];
    if (letter === '"' && inside && line[i + 1] === '"') all[all.length - 1] += line[++i];
    else if (letter === '"') inside = !inside;
    else if (letter === between && !inside) all.push('');
    else all[all.length - 1] += letter;
  }
  return all.map(one => one.trim());
}

/** What stands in a column, each once; nothing when there is no such column. @param {string} text @param {string} name */
export function named(text, name) {
  const lines = text.replace(/^\uFEFF/, '').split(/\r\n|\n|\r/).filter(line => line.trim() && !line.startsWith('#'));
  const head = lines[0] ?? '';
  const between = [',', ';', '\t'].find(one => head.includes(one)) ?? ',';
  const at = fields(head.toLowerCase(), between).indexOf(name);
  return at < 0 ? [] : [...new Set(lines.slice(1).map(line => fields(line, between)[at] ?? ''))].filter(Boolean);
}
