// @ts-check
// Reports as files: asked for here, so that a refusal is said on the page and not saved as a file.

import { h, show } from './dom.js';
import { Refusal, part, words } from './api.js';
import './frame.js';

/** The name that the site gave the file. @param {Response} response @param {string} otherwise */
const nameOf = (response, otherwise) => /filename="([^"]+)"/.exec(response.headers.get('Content-Disposition') ?? '')?.[1] ?? otherwise;

/** @param {string} path */
async function take(path) {
  let response;
  try {
    response = await fetch(path, {credentials: 'same-origin', signal: AbortSignal.timeout(90000)});
  } catch {
    throw new Refusal(0, 'offline', 'The site cannot be reached, or took too long.');
  }
  if (!response.ok) {
    const refused = await response.json().catch(() => null);
    throw new Refusal(response.status, refused?.error?.code ?? 'unknown', refused?.error?.says ?? 'The site could not do that.');
  }
  return {blob: await response.blob(), name: nameOf(response, 'report')};
}

/** @param {Blob} blob @param {string} name */
function save(blob, name) {
  const url = URL.createObjectURL(blob);
  const link = h('a', {href: url, download: name, hidden: true});
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(url), 60000);
}

const forms = [['pdf', 'PDF'], ['html', 'HTML'], ['xlsx', 'XLSX'], ['json', 'JSON']];

/**
 * A button for each form that a report can be had in.
 * @param {string} what  "Report", "Agenda"
 * @param {string} path  of the API, without the form
 * @param {string[]} [only]  the forms there are
 * @param {string} [of]  what it is of, where the page has several: for who does not see in which row it stands
 */
export function fileButtons(what, path, only = forms.map(([form]) => form), of = '') {
  const says = h('p', {role: 'status', class: 'hint'});
  // Letter where people use it, A4 elsewhere.
  const paper = /-(US|CA|MX|PH|CL|CO)\b/.test(navigator.language) || navigator.language === 'en' ? 'letter' : 'a4';
  const buttons = forms.filter(([form]) => only.includes(form)).map(([form, name]) => {
    const button = h('button', {type: 'button', class: 'quiet', onclick: async () => {
      button.disabled = true;
      show(says, `Making the ${name} ...`);
      try {
        const file = await take(`${path}${path.includes('?') ? '&' : '?'}format=${form}${form === 'pdf' ? `&paper=${paper}` : ''}`);
        save(file.blob, file.name);
        show(says, `Saved as ${file.name}.`);
      } catch (error) {
        show(says, words(error));
      } finally {
        button.disabled = false;
        button.focus();
      }
    }}, name, h('span', {class: 'unseen'}, ` ${what}${of && ` of ${of}`}`));
    return button;
  });
  return h('div', {class: 'files no-print', role: 'group', 'aria-label': of ? `${what} of ${of}` : what}, h('p', {class: 'actions'}, h('span', {class: 'files-of'}, `${what}:`), buttons), says);
}

/** Score sheets of a set, to print: its cases without their keys. @param {string} id @param {string} [title] */
export const sheetButtons = (id, title) => fileButtons('Score sheet to print', `/api/own-sets/${part(id)}/sheet`, ['pdf', 'html'], title);
