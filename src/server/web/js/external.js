// @ts-check
// Cases outside: what there is, whose turn it is, how far the panel agrees, and a form for a new one.

import { h, show, byId, count, percent, focusOn } from './dom.js';
import { get, send, part } from './api.js';
import { attempt, faultAt, field, numberIn } from './fields.js';
import { departmentNav } from './department_nav.js';
import './frame.js';

/**
 * @typedef {{id: string, instrument: string, child: {code: string, age: number, picture: string}, setting: string, share: string,
 *   external: import('./types').External, items: string[],
 *   panel: {members: number, agreed: number, compared: number, keyed: number, split: string[]} | null,
 *   readers: (string | null)[], mine: boolean, author: string | null, may_close: boolean}} Outside
 * @typedef {{id: string, title: string, items: {id: string, name: string}[]}} Instrument
 */

const content = byId('content');
const list = h('div', {class: 'stack'});

/** How the members of a panel agree, in a sentence. @param {number} agreed @param {number} compared */
function agreementWords(agreed, compared) {
  if (!compared) return 'Nowhere did all others give the same level, so how well a member agrees with the rest is not known.';
  return `Held against what all others gave alike, a member gave the same ${agreed} of ${count(compared, 'time')} (${percent(agreed / compared)}). No standard can ask more of a rater than the panel reaches itself.`;
}

/** @param {Outside} one */
function panelWords(one) {
  const {panel, readers} = one;
  if (panel) {
    return [h('p', {}, h('b', {}, `Key by a panel of ${panel.members}. `), `${count(panel.keyed, 'item has', 'items have')} a key. `,
      panel.split.length ? `The panel split on ${panel.split.length === 1 ? 'item' : 'items'} ${panel.split.join(', ')}: no key there, and a score there decides about nobody.` : 'They agreed on every item.'),
    h('p', {}, agreementWords(panel.agreed, panel.compared))];
  }
  const names = readers.map(reader => reader ?? 'one who has left');
  return h('p', {}, h('b', {}, 'No key yet. '), readers.length ? `Scored so far by ${names.join(', ')}.` : 'Nobody has scored it.',
    one.mine ? ' Your scores are in.' : '', ' What each gave stays hidden until the panel is closed.');
}

/** @param {Outside} one @param {() => Promise<void>} again */
function closing(one, again) {
  const host = h('div', {}), problem = h('div', {role: 'alert'});
  if (one.panel || !one.may_close) return host;
  if (one.readers.length < 2) {
    show(host, h('p', {class: 'hint'}, 'You can close the panel once two have scored; three are better.'));
    return host;
  }
  const name = () => h('span', {class: 'unseen'}, ` of ${one.child.code}`);
  const begin = h('button', {type: 'button', class: 'quiet', onclick: () => attempt(problem, async () => {
    const seen = await send('POST', `/api/external/${part(one.id)}/panel/preview`);
    const split = seen.items.filter((/** @type {any} */ item) => !item.agreed).map((/** @type {any} */ item) => item.item);
    const head = h('h3', {}, 'What the panel makes of it');
    const trouble = h('div', {role: 'alert'});
    const sure = h('button', {type: 'button', disabled: !seen.confirm, onclick: async () => {
      sure.disabled = true;
      if (!await attempt(trouble, async () => {
        await send('PUT', `/api/external/${part(one.id)}/panel`, {confirm: seen.confirm});
        await again();
      })) sure.disabled = false;
    }}, 'Close the panel and put the key in force');
    show(host, h('div', {class: 'asking'}, head,
      h('p', {}, `${count(seen.members, 'member')} scored ${count(seen.items.length, 'item')}. ${seen.items.length - split.length} have a key, since everybody gave the same. `,
        split.length ? `They split on ${split.length === 1 ? 'item' : 'items'} ${split.join(', ')}: no key there.` : 'They split nowhere.'),
      h('p', {}, agreementWords(seen.agreed, seen.compared)),
      seen.faults.length ? h('p', {class: 'notice'}, seen.faults.map((/** @type {any} */ fault) => fault.says).join(' ')) : null,
      h('p', {}, 'The levels are not shown before: whoever looks here may still score. From then on the panel takes no more scores, and raters are held against the key.'),
      trouble, h('p', {class: 'answers'}, sure, h('button', {type: 'button', class: 'quiet', onclick: () => {
        show(host, begin);
        begin.focus();
      }}, 'Leave it open'))));
    focusOn(head);
  })}, 'Close the panel ...', name());
  show(host, begin);
  return h('div', {}, problem, host);
}

/** @param {Outside} one @param {() => Promise<void>} again */
function reopening(one, again) {
  if (!one.panel || !one.may_close) return null;
  const host = h('div', {}), problem = h('div', {role: 'alert'});
  const why = h('input', {id: `why-${one.id}`, maxlength: '200', autocomplete: 'off'});
  const begin = h('button', {type: 'button', class: 'quiet', onclick: () => {
    const form = h('form', {class: 'asking', novalidate: true},
      h('p', {}, 'Its key is taken out of force, those who scored stay on the panel, and others can score it too. That goes only as long as nobody was held against the key.'),
      field(why, 'Why the panel goes on'), problem,
      h('p', {class: 'answers'}, h('button', {type: 'submit'}, 'Open the panel again'), h('button', {type: 'button', class: 'quiet', onclick: () => {
        show(host, begin);
        begin.focus();
      }}, 'Leave it closed')));
    form.addEventListener('submit', event => {
      event.preventDefault();
      if (!why.value.trim()) return faultAt(why, 'Say in a sentence why the panel goes on.');
      attempt(problem, async () => {
        await send('POST', `/api/external/${part(one.id)}/panel/reopen`, {why: why.value.trim()});
        await again();
      });
    });
    show(host, form);
    why.focus();
  }}, 'Open the panel again ...', h('span', {class: 'unseen'}, ` of ${one.child.code}`));
  show(host, begin);
  return host;
}

/** @param {Outside} one @param {(said: string, id: string) => Promise<void>} draw */
function card(one, draw) {
  const {external} = one;
  return h('section', {class: 'card', 'aria-label': one.child.code, id: `case-${one.id}`},
    h('h2', {tabindex: '-1'}, one.child.code, h('span', {class: 'tag'}, external.kind === 'film' ? 'film' : 'live child'), one.panel ? null : h('span', {class: 'tag'}, 'no key yet')),
    h('p', {}, `${one.child.age} years. ${one.child.picture} ${one.setting}`),
    h('dl', {class: 'facts'},
      h('div', {}, h('dt', {}, 'Where'), h('dd', {}, external.find)),
      h('div', {}, h('dt', {}, 'How long'), h('dd', {}, `about ${count(external.minutes, 'minute')}`)),
      h('div', {}, h('dt', {}, 'Consent'), h('dd', {}, external.consent)),
      h('div', {}, h('dt', {}, 'Items'), h('dd', {}, one.items.join(', ')))),
    panelWords(one),
    h('div', {class: 'actions'},
      one.panel || one.mine ? null : h('a', {class: 'button', href: `/external/${part(one.id)}/score`}, 'Score it for the panel', h('span', {class: 'unseen'}, `: ${one.child.code}`)),
      closing(one, () => draw(`The panel of ${one.child.code} is closed, and its key is in force.`, one.id)),
      reopening(one, () => draw(`The panel of ${one.child.code} is open again, and there is no key.`, one.id))),
    h('p', {class: 'hint'}, `In files and sets it is called ${one.id}.`));
}

const shares = [['typical', 'Typical development'], ['mild', 'Mildly affected'], ['moderate', 'Moderately affected'],
  ['marked', 'Markedly affected'], ['barely-stands', 'Barely stands']];

/** @param {Instrument[]} instruments @param {(said: string, id: string) => Promise<void>} draw */
function addForm(instruments, draw) {
  const text = (/** @type {string} */ id, more = {}) => h('input', {id, maxlength: '300', autocomplete: 'off', ...more});
  const choice = (/** @type {string} */ id, /** @type {string[][]} */ all, /** @type {string} */ first) => h('select', {id},
    all.map(([value, words]) => h('option', {value, selected: value === first}, words)));
  const kind = choice('kind', [['film', 'A film'], ['live', 'A child who is there']], 'film');
  const instrument = choice('instrument', instruments.map(one => [one.id, one.title]), 'pediatric-balance');
  const code = text('code'), id = text('id', {maxlength: '64', spellcheck: 'false'});
  const age = text('age', {inputmode: 'decimal', maxlength: '5', class: 'number'}), minutes = text('minutes', {inputmode: 'decimal', maxlength: '5', class: 'number'});
  const picture = text('picture'), setting = text('setting'), find = text('find'), consent = text('consent');
  const share = choice('share', shares, 'mild');
  const itemsPlace = h('fieldset', {id: 'items', tabindex: '-1'});
  const outcome = h('div', {role: 'status'}), problem = h('div', {role: 'alert'});
  const drawItems = () => {
    const of = instruments.find(one => one.id === instrument.value);
    show(itemsPlace, h('legend', {}, 'Items that it shows'), h('div', {class: 'ticks'}, (of?.items ?? []).map(item =>
      h('p', {class: 'tick'}, h('label', {}, h('input', {type: 'checkbox', name: 'item', value: item.id, checked: true}), ` ${item.id} ${item.name}`)))));
  };
  instrument.addEventListener('change', drawItems);
  drawItems();
  const body = () => ({kind: kind.value, instrument: instrument.value, id: id.value.trim(), code: code.value.trim(), age: Number(age.value.replace(',', '.')),
    picture: picture.value.trim(), setting: setting.value.trim(), share: share.value, find: find.value.trim(),
    minutes: Number(minutes.value.replace(',', '.')), consent: consent.value.trim(),
    items: [...itemsPlace.querySelectorAll('input:checked')].map(box => /** @type {HTMLInputElement} */ (box).value)});
  const form = h('form', {class: 'form', novalidate: true},
    field(kind, 'What it is'), field(instrument, 'Instrument'),
    field(code, 'Code of the child', 'A made-up word, never the child\u2019s name.'),
    field(id, 'Name of the case in files', 'Small letters, digits and hyphens, such as film-brook.'),
    field(age, 'Age in years'), field(picture, 'Whom one sees', 'A line or two, no diagnosis.'), field(setting, 'Where it takes place'),
    field(share, 'How much balance is affected', 'Sets are mixed by it.'),
    field(find, 'Where to find it', 'In words: a shelf mark, or the room and the hour. No links: the program opens nothing outside.'),
    field(minutes, 'How many minutes it takes'),
    field(consent, 'Consent', 'Who agreed to what, and where the paper is. Without consent a film is not used.'),
    itemsPlace, problem, h('p', {}, h('button', {type: 'submit'}, 'Preview')), outcome);
  form.addEventListener('input', () => show(outcome));
  code.addEventListener('input', () => {
    if (!id.dataset.typed) id.value = `${kind.value}-${code.value.trim().toLowerCase().replace(/[^a-z0-9]+/g, '-').replace(/^-|-$/g, '')}`;
  });
  id.addEventListener('input', () => { id.dataset.typed = '1'; });
  form.addEventListener('submit', event => {
    event.preventDefault();
    show(outcome);
    for (const [control, says] of /** @type {[HTMLInputElement, string][]} */ ([[code, 'Give a code, never the child\u2019s name.'], [id, 'Give the case a name.']]))
      if (!control.value.trim()) return faultAt(control, says);
    if (numberIn(age, {name: 'Age', from: 0, to: 120, whole: false}) === undefined) return;
    for (const [control, says] of /** @type {[HTMLInputElement, string][]} */ ([[picture, 'Say in a line or two whom one sees.'], [setting, 'Say where it takes place.'],
      [find, 'Say where it is to be found, in words.']]))
      if (!control.value.trim()) return faultAt(control, says);
    if (numberIn(minutes, {name: 'Minutes', from: 1, to: 600, whole: false}) === undefined) return;
    if (!consent.value.trim()) return faultAt(consent, 'Say who agreed to what. Without consent it is not used.');
    const sent = body();
    if (!sent.items.length) {
      show(problem, h('p', {class: 'notice'}, 'Say which items it shows: at least one.'));
      return /** @type {HTMLElement | null} */ (itemsPlace.querySelector('input'))?.focus();
    }
    attempt(problem, async () => {
      const seen = await send('POST', '/api/external/preview', sent);
      const head = h('h3', {}, 'The file that it becomes'), trouble = h('div', {role: 'alert'});
      show(outcome, head, h('pre', {class: 'source', tabindex: '0', role: 'region', 'aria-label': 'The file'}, seen.text),
        seen.faults.length ? h('ul', {class: 'faults'}, seen.faults.map((/** @type {any} */ fault) => h('li', {}, `Line ${fault.line}: ${fault.says}`))) : null,
        seen.confirm ? h('p', {}, 'It joins the department\u2019s library, without a key: raters can practice with it, and a round can use it. A panel scores it next.') : null,
        trouble, seen.confirm ? h('p', {}, h('button', {type: 'button', onclick: () => attempt(trouble, async () => {
          await send('PUT', '/api/external', {...sent, confirm: seen.confirm});
          form.reset();
          delete id.dataset.typed;
          drawItems();
          show(outcome);
          await draw(`${sent.code} is in the library. A panel scores it next.`, sent.id);
        }, form)}, 'Add it to the library')) : null);
      focusOn(head);
    }, form);
  });
  return form;
}

async function start() {
  const problem = h('div', {role: 'alert'}), notice = h('div', {role: 'status'}), adding = h('div', {});
  show(content, departmentNav(), problem, notice, list,
    h('section', {class: 'no-print'}, h('h2', {}, 'Add a film or a child'), adding),
    h('p', {class: 'hint'}, 'Films show real children. They are kept, shown and destroyed as the consent and your local policy say; a live child\u2019s safety comes before any score.'));
  const draw = async (said = '', id = '') => {
    const found = await get('/api/external');
    show(list, found.cases.length ? found.cases.map((/** @type {Outside} */ one) => card(one, draw)) : h('p', {}, 'There is none yet.'));
    show(notice, said ? h('p', {class: 'notice'}, said) : null);
    if (id) focusOn(/** @type {HTMLElement | null} */ (document.getElementById(`case-${id}`)?.querySelector('h2') ?? null));
    return found;
  };
  await attempt(problem, async () => {
    const found = await draw();
    show(adding, addForm(found.instruments, async (said, id) => { await draw(said, id); }));
  });
}

start();
