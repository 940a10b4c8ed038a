// One pair at a time; answers last in the browser.
const byId = id => document.getElementById(id);
let answers = new Map(facts.known.map(([red, black, said]) => [key(red, black), said]));
let pair = null, heard = '', keysOn = true;

function keep() {
  store.save([...answers], () => {
    byId('done').textContent = 'This browser keeps nothing: save the answers before you close the page.';
  });
}

function say(what) {
  if (!pair) return;
  answers.delete(key(pair.red, pair.black));   // said again, it is the last
  answers.set(key(pair.red, pair.black), what);
  keep();
  show();
}
function undo() {
  const last = [...answers.keys()].pop();
  if (last === undefined) return;
  answers.delete(last);
  keep();
  const [red, black] = JSON.parse(last);
  show({red, black, net: netOf.get(red), why: 'once more'});
}

function show(chosen) {
  pair = chosen || upNext(answers) || null;
  document.querySelector('.now').classList.toggle('over', !pair);
  byId('why').textContent = pair ? pair.net + ': ' + pair.why : 'All pairs are answered.';
  byId('red').textContent = pair ? pair.red : '';
  byId('black').textContent = pair ? pair.black : '';
  byId('done').textContent = pair ? 'Red on ' + pair.red + ', black on ' + pair.black : '';
  const faults = broken(answers);
  const told = faults.filter(b => !b.wrong).map(b => ({w: words(b), c: b.certain ? 'certain' : ''}));
  if (!faults.length) told.push({w: pair ? 'No break so far.' : 'Every net of the list is whole.', c: ''});
  if (JSON.stringify(told) !== heard) {   // what is put there is read out: only what is new
    heard = JSON.stringify(told);
    byId('found').replaceChildren(...told.map(item => {
      const entry = document.createElement('li');
      entry.textContent = item.w;
      entry.className = item.c;
      return entry;
    }));
  }
  const wrong = faults.filter(b => b.wrong);
  byId('wrong').hidden = !wrong.length;
  byId('wrong').textContent = wrong.map(words).join('. ');
  const done = facts.probes.filter(p => answers.has(key(p.red, p.black))).length;
  byId('far').value = facts.probes.length ? done / facts.probes.length : 1;
  byId('farsaid').textContent = done + ' of ' + facts.probes.length;
  byId('undo').disabled = !answers.size;
  for (const id of ['beep', 'silent', 'skip']) byId(id).disabled = !pair;
  byId('save').href = 'data:text/csv;charset=utf-8,' + encodeURIComponent(csv(answers));
  list();
}

function list() {
  const planned = new Set(facts.probes.map(p => key(p.red, p.black)));
  const more = [...answers.keys()].filter(k => !planned.has(k)).map(k => {
    const [red, black] = JSON.parse(k);
    return {red, black, net: netOf.get(red)};
  });
  byId('list').replaceChildren(...[...facts.probes, ...more].map(p => {
    const entry = document.createElement('li'), button = document.createElement('button');
    const said = answers.get(key(p.red, p.black));
    button.type = 'button';
    button.textContent = p.net + ': ' + p.red + ', ' + p.black + (said ? ': ' + (said === 'skip' ? 'not reached' : said) : '');
    button.className = said || '';
    if (pair && key(p.red, p.black) === key(pair.red, pair.black)) button.setAttribute('aria-current', 'step');
    button.addEventListener('click', () => { show({...p, why: 'chosen by hand'}); byId('beep').focus(); });
    entry.append(button);
    return entry;
  }));
}

function dark(on) {
  document.documentElement.classList.toggle('dark', on);
  byId('dark').setAttribute('aria-pressed', on);
}
function listen() {
  byId('beep').addEventListener('click', () => say('beep'));
  byId('silent').addEventListener('click', () => say('silent'));
  byId('skip').addEventListener('click', () => say('skip'));
  byId('undo').addEventListener('click', undo);
  byId('keys').addEventListener('click', () => {
    keysOn = !keysOn;
    byId('keys').setAttribute('aria-pressed', keysOn);
  });
  byId('dark').addEventListener('click', () => dark(!document.documentElement.classList.contains('dark')));
  byId('forget').addEventListener('click', () => {
    if (!confirm('Forget every answer?')) return;
    answers = new Map();
    keep();
    show();
  });
  document.addEventListener('keydown', event => {
    if (!keysOn || event.altKey || event.ctrlKey || event.metaKey) return;
    const act = {b: () => say('beep'), s: () => say('silent'), u: undo}[event.key.toLowerCase()];
    if (act) { event.preventDefault(); act(); }
  });
}

dark(matchMedia('(prefers-color-scheme: dark)').matches);
store.open(facts.store, kept => {
  if (Array.isArray(kept)) answers = new Map(kept);
  listen();
  show();
});
