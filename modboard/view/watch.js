'use strict';
const byId = id => document.getElementById(id);
let shown = -1;

function show(state) {
  byId('doing').textContent = state.busy ? 'making…' : state.mistake ? 'not made; what you see is from before' : 'made ' + state.run + ' times';
  byId('mistake').hidden = !state.mistake;
  byId('mistake').textContent = state.mistake;
  document.querySelector('main').classList.toggle('old', Boolean(state.mistake));
  if (state.run === shown) return;
  shown = state.run;
  byId('findings').textContent = state.findings.join('\n');
  byId('booklet').hidden = !state.made.includes('bench/booklet.html');
  for (const name of ['assembly', 'top', 'bottom']) {
    const there = state.made.includes('view/' + name + '.svg');
    byId(name).hidden = !there;
    if (there) byId(name).src = '/out/view/' + name + '.svg?run=' + state.run;
  }
}

async function ask() {
  try {
    show(await (await fetch('/state', {cache: 'no-store'})).json());
  } catch {
    byId('doing').textContent = 'modboard watch has ended';
  }
  setTimeout(ask, 1000);
}
ask();
