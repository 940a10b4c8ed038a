// The booklet: leaves one at a time, ticks and answers that last, marks on the board for the pair in hand.
const memory = {
  all: {},
  get(key) { return Object.hasOwn(this.all, key) ? this.all[key] : undefined; },
  set(key, value) {
    if (value === undefined || value === '' || value === false) delete this.all[key]; else this.all[key] = value;
    store.save(this.all, () => tell('This browser keeps nothing: ticks are lost when the page closes.'));
    progress();
  },
};

const pages = [...document.querySelectorAll('.leaf')];
let open = 0, atProbe = 0;

function go(number, focus) {
  open = Math.max(0, Math.min(pages.length - 1, number));
  pages.forEach((page, n) => page.classList.toggle('open', n === open));
  const leaf = facts.leaves[open];
  board.marks(leaf.places.map((at, n) => ({kind: 'red', at, s: leaf.side, label: String(n + 1)})));
  board.show(leaf);
  board.light(leaf.net);
  tell(leaf.net === null ? '' : describe(leaf.net));
  byId('folio').textContent = (open + 1) + ' of ' + pages.length;
  byId('prev').disabled = open === 0;
  byId('next').disabled = open === pages.length - 1;
  for (const tab of document.querySelectorAll('.tabs a')) {
    if (tab.dataset.c === leaf.chapter) tab.setAttribute('aria-current', 'page'); else tab.removeAttribute('aria-current');
  }
  const current = document.querySelector('.tabs a[aria-current]');
  if (current) current.parentElement.scrollLeft = current.offsetLeft - 40;
  const unanswered = leaf.probes.findIndex(probe => !memory.get(probe.k));
  point(unanswered < 0 ? 0 : unanswered);
  hint();
  document.querySelector('.page.words').scrollTop = 0;
  window.scrollTo(0, 0);
  try { history.replaceState(null, '', '#page-' + (open + 1)); } catch { /* some browsers forbid it on files */ }
  memory.all.leaf = open;
  memory.set('leaf', open || undefined);
  if (focus) pages[open].focus({preventScroll: true});
}

// Put the two marks of one pair on the board and the side it is reached from in view.
function point(number) {
  atProbe = number;
  const leaf = facts.leaves[open], probe = leaf.probes[number];
  pages[open].querySelectorAll('.probe').forEach((row, n) => {
    row.classList.toggle('open', n === number);
    if (n === number) row.querySelector('.pair').setAttribute('aria-current', 'step');
    else row.querySelector('.pair').removeAttribute('aria-current');
  });
  if (!probe) return;
  if (probe.t === 'wire') {
    board.marks(leaf.probes.map((wire, n) => ({kind: 'wired', at: wire.r.at, s: board.side, label: String(n + 1), colour: wire.c})));
    return;
  }
  if (probe.net !== null && probe.net !== board.net) board.light(probe.net);
  if (board.side !== probe.r.s && board.side !== probe.b.s) board.turn(probe.r.s);
  const over = probe.r.s !== probe.b.s ? ' (one from each side)' : '';
  board.marks([{kind: 'red', at: probe.r.at, s: probe.r.s, label: 'R'}, {kind: 'black', at: probe.b.at, s: probe.b.s, label: 'B'}]);
  tell('Red on ' + probe.r.p + ', black on ' + probe.b.p + over);
}

function hint() {
  const box = pages[open].querySelector('.hint');
  const probe = facts.leaves[open].probes[0];
  if (!box || !probe) return;
  const wrong = facts.leaves[open].probes.some(p => memory.get(p.k) === 'bad');
  box.hidden = !wrong;
  if (!wrong) return;
  const told = box.querySelector('.told');
  const rings = explain(probe.k[0], probe.t, told);
  board.marks([...(board.marked || []).filter(item => item.kind !== 'ring'), ...rings]);
  const lines = [...told.querySelectorAll('p, li')], place = told.querySelector('li');
  const more = told.querySelectorAll('li').length - 1;
  tell(lines[0].textContent + (place ? ' ' + place.textContent : '') + (more > 0 ? ', and ' + more + ' more' : ''));
}

function answer(row, what) {
  const key = row.dataset.k;
  const value = memory.get(key) === what ? undefined : what;
  memory.set(key, value);
  press(row);
  const probes = facts.leaves[open].probes;
  const number = probes.findIndex(probe => probe.k === key);
  point(value === 'good' && number + 1 < probes.length ? number + 1 : number);
  hint();
}
function press(row) {
  for (const what of ['good', 'bad']) row.querySelector('.' + what).setAttribute('aria-pressed', memory.get(row.dataset.k) === what);
}

function judge(input) {
  const said = input.parentElement.querySelector('output');
  const value = Number(input.value.trim().replace(',', '.').replace(/k$/i, 'e3').replace(/M$/, 'e6'));
  said.className = '';
  said.textContent = '';
  if (!input.value.trim() || Number.isNaN(value)) return;
  const {low, high} = input.dataset;
  const wrong = low !== '' && value < Number(low) ? 'too low' : high !== '' && value > Number(high) ? 'too high' : '';
  said.textContent = wrong ? wrong + ': ' + pages[open].querySelector('.ifnot').textContent : 'right';
  said.className = wrong ? 'wrong' : 'fine';
}

function progress() {
  const boxes = document.querySelectorAll('.leaf [data-k]');
  const keys = new Set([...boxes].filter(box => !(box.tagName === 'INPUT' && box.type === 'text')).map(box => box.dataset.k));
  const done = [...keys].filter(key => memory.get(key) !== undefined).length;
  byId('far').value = keys.size ? done / keys.size : 0;
  byId('farsaid').textContent = done + ' of ' + keys.size;
}

function dark(on) {
  document.documentElement.classList.toggle('dark', on);
  byId('dark').setAttribute('aria-pressed', on);
}

function listen() {
  byId('prev').addEventListener('click', () => go(open - 1, true));
  byId('next').addEventListener('click', () => go(open + 1, true));
  byId('turn').addEventListener('click', () => {
    board.turn(board.side === 'top' ? 'bottom' : 'top');
    tell('Seen from the ' + board.side);
  });
  byId('closer').addEventListener('click', () => board.zoom(1.5));
  byId('further').addEventListener('click', () => board.zoom(1 / 1.5));
  byId('whole').addEventListener('click', () => board.fit());
  byId('net').addEventListener('change', event => {
    const net = event.target.value === '' ? null : Number(event.target.value);
    board.light(net);
    tell(net === null ? '' : describe(net));
  });
  byId('dark').addEventListener('click', () => {
    const on = !document.documentElement.classList.contains('dark');
    dark(on);
    memory.set('dark', on ? 'yes' : 'no');
  });
  byId('keys').addEventListener('click', () => {
    const off = memory.get('keys') === undefined;
    memory.set('keys', off ? 'off' : undefined);
    byId('keys').setAttribute('aria-pressed', !off);
  });
  byId('forget').addEventListener('click', () => {
    if (!confirm('Forget every tick and reading of this board?')) return;
    memory.all = {};
    memory.set('leaf', undefined);
    restore();
    go(0);
  });
  for (const tab of document.querySelectorAll('.tabs a')) tab.addEventListener('click', event => {
    event.preventDefault();
    go(Number(tab.getAttribute('href').slice(6)), true);
  });
  for (const box of document.querySelectorAll('input[type=checkbox]')) {
    box.addEventListener('change', () => memory.set(box.dataset.k, box.checked));
  }
  for (const input of document.querySelectorAll('.entry input')) input.addEventListener('input', () => {
    memory.set('r' + input.dataset.k, input.value);
    judge(input);
  });
  for (const row of document.querySelectorAll('.probe')) {
    row.querySelector('.pair').addEventListener('click', () => {
      point(facts.leaves[open].probes.findIndex(probe => probe.k === row.dataset.k));
    });
    for (const what of ['good', 'bad']) row.querySelector('.' + what).addEventListener('click', () => answer(row, what));
  }
  document.addEventListener('keydown', event => {
    if (event.altKey || event.ctrlKey || event.metaKey || /^(INPUT|SELECT)$/.test(event.target.tagName)) return;
    const onBoard = event.target === byId('live');
    const rows = pages[open].querySelectorAll('.probe');
    const step = board.box[2] / 10;
    const keys = onBoard
      ? {ArrowLeft: () => board.move(-step, 0), ArrowRight: () => board.move(step, 0), ArrowUp: () => board.move(0, -step),
         ArrowDown: () => board.move(0, step)}
      : {ArrowLeft: () => go(open - 1, true), ArrowRight: () => go(open + 1, true)};
    if (memory.get('keys') === undefined) Object.assign(keys, {t: () => byId('turn').click(), '+': () => board.zoom(1.5), '=': () => board.zoom(1.5),
      '-': () => board.zoom(1 / 1.5), g: () => rows[atProbe] && answer(rows[atProbe], 'good'),
      b: () => rows[atProbe] && answer(rows[atProbe], 'bad')});
    if (keys[event.key]) { event.preventDefault(); keys[event.key](); }
  });
  gestures(byId('live'));
}

// One finger moves, two pinch, a tap lights a net; the wheel zooms about the pointer.
function gestures(live) {
  const fingers = new Map();
  let began = null;
  live.addEventListener('pointerdown', event => {
    live.setPointerCapture(event.pointerId);
    fingers.set(event.pointerId, event);
    began = fingers.size === 1 ? {x: event.clientX, y: event.clientY, moved: false} : {...began, moved: true};
  });
  live.addEventListener('pointermove', event => {
    const before = fingers.get(event.pointerId);
    if (!before) return;
    const others = [...fingers.values()].filter(finger => finger.pointerId !== event.pointerId);
    if (Math.hypot(event.clientX - began.x, event.clientY - began.y) > 6) began.moved = true;
    if (others.length === 1) {
      const apart = finger => Math.hypot(finger.clientX - others[0].clientX, finger.clientY - others[0].clientY);
      board.zoom(apart(event) / Math.max(1, apart(before)), (event.clientX + others[0].clientX) / 2, (event.clientY + others[0].clientY) / 2);
    } else if (!others.length && began.moved) {
      const from = board.locate(before.clientX, before.clientY), to = board.locate(event.clientX, event.clientY);
      board.move(from.x - to.x, from.y - to.y);
    }
    fingers.set(event.pointerId, event);
  });
  const up = event => {
    const tap = fingers.size === 1 && began && !began.moved && event.type === 'pointerup';
    fingers.delete(event.pointerId);
    if (tap) board.tapped(event.clientX, event.clientY);
  };
  live.addEventListener('pointerup', up);
  live.addEventListener('pointercancel', up);
  live.addEventListener('wheel', event => {
    event.preventDefault();
    board.zoom(event.deltaY < 0 ? 1.2 : 1 / 1.2, event.clientX, event.clientY);
  }, {passive: false});
}

function restore() {
  byId('keys').setAttribute('aria-pressed', memory.get('keys') === undefined);
  for (const box of document.querySelectorAll('input[type=checkbox]')) box.checked = Boolean(memory.get(box.dataset.k));
  for (const row of document.querySelectorAll('.probe')) press(row);
  for (const input of document.querySelectorAll('.entry input')) {
    input.value = memory.get('r' + input.dataset.k) || '';
    judge(input);
  }
}

document.body.classList.add('paged');
board.build();
store.open(facts.store, kept => {
  memory.all = kept || {};
  dark(memory.get('dark') ? memory.get('dark') === 'yes' : matchMedia('(prefers-color-scheme: dark)').matches);
  listen();
  restore();
  progress();
  const named = /^#(leaf|page)-(\d+)$/.exec(location.hash);
  go(named ? Number(named[2]) - (named[1] === 'page' ? 1 : 0) : Number(memory.get('leaf')) || 0);
});
