// What answers tell of nets in pieces: the same reasoning as bench/repair.py, tried against it.
const facts = JSON.parse(document.getElementById('facts').textContent);
const key = (red, black) => JSON.stringify([red, black]);
const order = new Map(facts.nets.flatMap(([, pins]) => pins.map((pin, n) => [pin, n])));
const netOf = new Map(facts.nets.flatMap(([net, pins]) => pins.map(pin => [pin, net])));

// answers: Map of key -> 'beep' | 'silent' | 'skip'.  Returns one entry for each net some answer shows to be broken.
function broken(answers) {
  const found = [];
  for (const [net, pins] of facts.nets) {
    const root = new Map(pins.map(pin => [pin, pin]));
    const find = pin => { while (root.get(pin) !== pin) pin = root.get(pin); return pin; };
    const mine = [...answers].map(([pair, said]) => [...JSON.parse(pair), said]).filter(([red]) => root.has(red));
    for (const [a, b, said] of mine) if (said === 'beep') root.set(find(b), find(a));
    const silent = mine.filter(([, , said]) => said === 'silent');
    if (!silent.length) continue;
    const wrong = silent.find(([a, b]) => find(a) === find(b));
    if (wrong) { found.push({net, wrong}); continue; }
    const apart = new Set(silent.flatMap(([a, b]) => [key(find(a), find(b)), key(find(b), find(a))]));
    const skipped = new Set(mine.filter(([, , said]) => said === 'skip').map(([a, b]) => key(a, b)));
    const groups = new Map();
    for (const pin of pins) groups.set(find(pin), [...(groups.get(find(pin)) || []), pin]);
    const roots = [...groups.keys()].sort((a, b) =>
      groups.get(b).length - groups.get(a).length || order.get(groups.get(a)[0]) - order.get(groups.get(b)[0]));
    let next = null, open = false;
    roots.forEach((a, n) => roots.slice(n + 1).forEach(b => {
      if (apart.has(key(a, b))) return;
      open = true;
      const pair = [groups.get(b)[0], groups.get(a)[0]];
      if (!next && !skipped.has(key(...pair))) next = pair;
    }));
    found.push({net, groups: roots.map(r => groups.get(r)), certain: !open, next});
  }
  return found;
}

function words(b) {
  if (b.wrong) return b.net + ': ' + b.wrong[0] + ' and ' + b.wrong[1] + ' were silent, yet other beeps join them; probe them again';
  const sides = b.groups.map(g => g.join(' + '));
  if (!b.certain) {
    return b.net + ': broken; not heard together yet: ' + sides.join(' | ') + (b.next ? '; next: red ' + b.next[0] + ', black ' + b.next[1] : '');
  }
  const wires = b.groups.slice(1).map(g => b.groups[0][0] + ' to ' + g[0]).join(', ');
  return b.net + ': broken between ' + sides.join(' and ') + '; a wire mends it: ' + wires;
}

// The pair to probe now, and why: a broken net is narrowed down first, then the plan in its order.
function upNext(answers) {
  for (const b of broken(answers)) {
    if (b.next) return {red: b.next[0], black: b.next[1], net: b.net, why: 'to narrow the break down'};
  }
  const open = facts.probes.find(p => !answers.has(key(p.red, p.black)));
  return open && {...open, why: open.suspect ? 'a suspect is at it' : 'next in the plan'};
}

const cell = text => {   // a spreadsheet must not run it: see CSV of every other table
  const safe = /^[=+\-@\t\r]/.test(text) && !/^[-+]$/.test(text) ? "'" + text : text;
  return /[",\n]/.test(safe) ? '"' + safe.replaceAll('"', '""') + '"' : safe;
};
function csv(answers) {
  const rows = [...answers].filter(([, said]) => said !== 'skip').map(([pair, said]) => [...JSON.parse(pair), said]);
  return ['red,black,result', ...rows.map(row => row.map(cell).join(','))].join('\r\n') + '\r\n';
}
