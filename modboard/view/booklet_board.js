// The live board: drawn from the stored groups, turned over, zoomed, and lit net by net.
const facts = JSON.parse(document.getElementById('facts').textContent);
const byId = id => document.getElementById(id);
const SVG = 'http://www.w3.org/2000/svg';

function make(name, attributes, parent) {
  const element = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  if (parent) parent.append(element);
  return element;
}

const board = {
  side: 'top', box: null, net: null, layers: {}, parts: [], leaf: null,

  build() {
    const scene = byId('scene');
    for (const id of ['plate', 'cu-bottom', 'cu-top', 'holes']) {
      this.layers[id] = make('g', {class: id.startsWith('cu') ? '' : id}, scene);
      this.layers[id].append(...byId(id).cloneNode(true).childNodes);
    }
    this.partLayer = make('g', {}, scene);
    facts.parts.forEach((_, n) => {
      const group = make('g', {class: 'part'}, this.partLayer);
      group.append(...byId('part-' + n).cloneNode(true).childNodes);
      this.parts.push(group);
    });
    facts.nets.forEach((name, n) => byId('net').append(new Option(name, n)));
  },

  show(leaf, side) {
    this.leaf = leaf;
    this.turn(side || leaf.side);
    this.fit();
  },

  turn(side) {
    this.side = side;
    const far = side === 'top' ? 'bottom' : 'top';
    byId('scene').setAttribute('transform', side === 'top' ? 'scale(1 -1)' : 'scale(-1 -1)');
    this.layers['cu-' + far].setAttribute('class', 'far');
    this.layers['cu-' + side].setAttribute('class', 'near');
    byId('scene').insertBefore(this.layers['cu-' + far], this.layers['cu-' + side]);
    byId('seen').textContent = 'seen from the ' + side;
    const {fit, done} = this.leaf;
    this.parts.forEach((group, n) => {
      const here = facts.parts[n].s === side ? '' : ' below';
      const shown = fit.includes(n) ? 'now' : done.includes(n) ? 'was' : '';
      group.setAttribute('class', 'part ' + shown + here);
      group.style.display = shown ? '' : 'none';
    });
    if (this.box) this.fit();
    this.paint();
  },

  place(at) { return this.side === 'top' ? [at[0], -at[1]] : [-at[0], -at[1]]; },

  fit() { this.box = [...facts.box[this.side]]; this.view(); },
  view() { byId('live').setAttribute('viewBox', this.box.join(' ')); },

  zoom(by, clientX, clientY) {
    const live = byId('live');
    const full = facts.box[this.side];
    const width = Math.min(full[2], Math.max(4, this.box[2] / by));
    const height = width * this.box[3] / this.box[2];
    const area = live.getBoundingClientRect();
    const point = clientX === undefined
      ? {x: this.box[0] + this.box[2] / 2, y: this.box[1] + this.box[3] / 2} : this.locate(clientX, clientY);
    const shareX = (point.x - this.box[0]) / this.box[2], shareY = (point.y - this.box[1]) / this.box[3];
    this.box = [point.x - shareX * width, point.y - shareY * height, width, height];
    this.keep();
  },
  move(dx, dy) { this.box[0] += dx; this.box[1] += dy; this.keep(); },
  keep() {
    const full = facts.box[this.side];
    for (const k of [0, 1]) {
      this.box[k] = Math.max(full[k], Math.min(full[k] + full[k + 2] - this.box[k + 2], this.box[k]));
    }
    this.view();
  },
  locate(x, y) {
    return new DOMPoint(x, y).matrixTransform(byId('live').getScreenCTM().inverse());
  },

  light(net) {
    this.net = net;
    byId('net').value = net === null ? '' : String(net);
    const scene = byId('scene');
    scene.classList.toggle('dim', net !== null);
    for (const shape of scene.querySelectorAll('[data-n]')) shape.classList.toggle('lit', shape.dataset.n === String(net));
  },

  tapped(x, y) {
    const point = this.locate(x, y);
    const scale = byId('live').getScreenCTM().a;
    let best = null, near = 16 / scale;   // a finger hits what is within 16 px
    for (const pad of facts.pads) {
      const [px, py] = this.place(pad.at);
      const far = Math.hypot(px - point.x, py - point.y);
      if (far < near) { near = far; best = pad; }
    }
    const hit = document.elementsFromPoint(x, y).find(shape => shape.dataset && shape.dataset.n !== undefined);
    const net = hit && (!best || near > 0.9) ? Number(hit.dataset.n) : best ? best.n : null;
    this.light(net);
    tell(net === null ? '' : (best && best.n === net ? best.p + ' is on ' : '') + describe(net));
  },

  marks(list) { this.marked = list; this.paint(); },
  paint() {
    const over = byId('over');
    over.replaceChildren();
    const names = this.leaf ? this.leaf.fit : [];
    for (const n of names) {
      const [x, y] = this.place(facts.parts[n].at);
      make('text', {x, y: y + 0.5 - facts.parts[n].up}, over).textContent = facts.parts[n].r;
    }
    for (const item of this.marked || []) {
      const [x, y] = this.place(item.at);
      const behind = item.s && item.s !== 'both' && item.s !== this.side ? ' behind' : '';
      const group = make('g', {class: item.kind + behind}, over);
      if (item.kind === 'ring') {
        group.setAttribute('class', behind.trim());
        make('circle', {class: 'ring', cx: x, cy: y, r: 1.6}, group);
      } else {
        make('circle', {class: 'halo', cx: x, cy: y, r: 1.3}, group);
        make('circle', {cx: x, cy: y, r: 1.3, ...(item.colour ? {stroke: item.colour} : {})}, group);
      }
      const beside = item.kind === 'wired' ? {x, y: y + 0.53} : {x: x + 1.9, y: y - 1};   // wires come in rows
      if (item.label) make('text', beside, group).textContent = item.label;
    }
  },
};

function describe(net) {
  const pads = facts.pads.filter(pad => pad.n === net).map(pad => pad.p);
  return facts.nets[net] + ': ' + (pads.length ? pads.join(', ') : 'no pads');
}
function tell(text) { byId('say').textContent = text; }
