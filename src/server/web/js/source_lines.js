// @ts-check
// Lines of a text in a textarea.

/** Puts the focus on a line and selects it. @param {HTMLTextAreaElement} area @param {number} line  from 1 */
export function toLine(area, line) {
  const lines = area.value.split('\n');
  const from = lines.slice(0, Math.max(0, line - 1)).reduce((sum, one) => sum + one.length + 1, 0);
  area.focus();
  area.setSelectionRange(from, from + (lines[line - 1]?.length ?? 0));
  // A selection alone does not scroll everywhere: the line is brought a third from the top.
  const height = parseFloat(getComputedStyle(area).lineHeight) || 22;
  area.scrollTop = Math.max(0, (line - 1) * height - area.clientHeight / 3);
}

/** The line of the cursor, from 1. @param {HTMLTextAreaElement} area */
export const lineOf = area => area.value.slice(0, area.selectionStart).split('\n').length;
