// From answers to a place to look: breaks by a dictionary of single faults, shorts by the likeliest bridges.
const answers = {
  // 'good', 'bad' or undefined for a probe's key: b or j (bare, joints), w or s (whole, apart), number.
  of(phase, sort, number) { return memory.get(phase + sort + number); },
  list(phase, sort, count, what) {
    const found = [];
    for (let n = 0; n < count; n++) if (this.of(phase, sort, n) === what) found.push(n);
    return found;
  },
};

// Breaks that are struck off by probes that passed: a cold joint cannot be judged on a bare board.
function suspects(phase) {
  const failed = answers.list(phase, 'w', facts.whole.length, 'bad');
  if (!failed.length) return null;
  const cleared = new Set();
  for (const n of answers.list(phase, 'w', facts.whole.length, 'good')) facts.whole[n].forEach(k => cleared.add(k));
  if (phase === 'j') {   // copper that was heard whole before soldering is whole now
    for (const n of answers.list('b', 'w', facts.whole.length, 'good')) {
      facts.whole[n].filter(k => facts.breaks[k].t !== 'joint').forEach(k => cleared.add(k));
    }
  }
  const open = k => !cleared.has(k) && !(phase === 'b' && facts.breaks[k].t === 'joint');
  const groups = [];
  let left = failed;
  while (left.length) {
    const count = new Map();
    for (const n of left) for (const k of facts.whole[n]) if (open(k)) count.set(k, (count.get(k) || 0) + 1);
    const most = Math.max(0, ...count.values());
    if (!most) { groups.push({breaks: [], probes: left}); break; }
    const breaks = [...count.keys()].filter(k => count.get(k) === most);
    const first = left.filter(n => facts.whole[n].includes(breaks[0]));
    const alike = breaks.filter(k => first.every(n => facts.whole[n].includes(k)));
    groups.push({breaks: alike, probes: first});
    left = left.filter(n => !first.includes(n));
  }
  return groups;
}

function bridges(phase) {
  const failed = answers.list(phase, 's', facts.apart.length, 'bad');
  const root = new Map();   // conductors that have run together, not nets: bare, one net can be several pieces
  const find = n => root.has(n) ? find(root.get(n)) : n;
  const real = [], follow = [];
  for (const n of failed.sort((a, b) => facts.apart[b].weight - facts.apart[a].weight)) {
    const [a, b] = facts.apart[n].ends.map(find);
    if (a === b) follow.push(n); else { root.set(b, a); real.push(n); }
  }
  return {real, follow};
}

function line(words, parent, name) {
  const element = document.createElement(name || 'p');
  element.textContent = words;
  parent.append(element);
  return element;
}

// Write what the answers of this phase tell into `told`; return places to ring on the board.
function explain(phase, sort, told) {
  told.replaceChildren();
  const rings = [];
  const place = (item, parent) => {
    const entry = line('', parent, 'li');
    const button = line(item.w, entry, 'button');
    button.type = 'button';
    button.addEventListener('click', () => {
      if (item.s !== 'both') board.turn(item.s);
      board.marks([{kind: 'ring', at: item.at, s: item.s, label: ''}]);
      tell(item.w);
    });
    rings.push({kind: 'ring', at: item.at, s: item.s, label: ''});
  };
  if (sort === 'w') {
    for (const group of suspects(phase) || []) {
      const count = group.probes.length;
      if (!group.breaks.length) {
        const could = group.probes.some(n => facts.whole[n].some(k => phase === 'j' || facts.breaks[k].t !== 'joint'));
        line(could ? 'What should be broken was heard whole. Probe the silent pairs again: a slipped probe, flux, or two faults.'
          : 'The copper between these is too broad to break at one place. Probe again: a slipped probe, or dirt on a land.', told);
        continue;
      }
      line(count > 1 ? 'One fault explains ' + count + ' silences. Look here:' : 'Look here:', told);
      const list = line('', told, 'ol');
      group.breaks.slice(0, 6).forEach(k => place(facts.breaks[k], list));
      if (group.breaks.length > 6) line('and ' + (group.breaks.length - 6) + ' more between the same pads', told);
      const next = splitting(phase, group.breaks);
      if (next) line('Next, to narrow it down: ' + next, told);
    }
  } else {
    const {real, follow} = bridges(phase);
    for (const n of real) {
      const [a, b] = facts.apart[n].nets.map(k => facts.nets[k]);
      line(a + ' and ' + b + ' have run together. Likeliest first:', told);
      const list = line('', told, 'ol');
      facts.apart[n].sites.forEach(site => place(site, list));
    }
    if (follow.length) line(follow.length + ' more follow from these: they may fall silent once the first is cleared.', told);
  }
  return rings;
}

// The probe not yet answered that cuts the list of suspects nearest to half.
function splitting(phase, breaks) {
  let best = null, off = breaks.length / 2;
  for (const leaf of facts.leaves) for (const probe of leaf.probes) {
    if (probe.t !== 'w' || probe.k[0] !== phase || memory.get(probe.k)) continue;
    const common = breaks.filter(k => facts.whole[probe.i].includes(k)).length;
    if (common && common < breaks.length && Math.abs(common - breaks.length / 2) < off) {
      off = Math.abs(common - breaks.length / 2);
      best = probe;
    }
  }
  return best && 'red ' + best.r.p + ', black ' + best.b.p;
}
