// Takes sound from the microphone and sends it up, in a Worker of its own so that
// nothing the page does holds it up. The count of samples is the clock: neither
// the time stamps of the browser nor the times of arrival are.
"use strict";
let socket = null, url = "", device = null, ended = false, open = false, wasOpen = false;
let count = 0;            // samples taken from the microphone
const blocks = [];        // {first, pcm} not known to be safe, oldest first
let held = 0;             // samples in blocks
let sent = 0;             // index up to which was sent on this socket
let durable = 0, marks = [];
const most = 60;          // seconds held while the program does not answer
let gather = [], gathered = 0, began = 0;

onmessage = e => {
  const m = e.data;
  if (m.url) {
    url = m.url; device = m.device;
    connect();
    if (m.readable) read(m.readable); else m.port.onmessage = x => take(x.data);
  }
  if (m.speaking !== undefined) { flush(); text({ speaking: m.speaking }); }
  if (m.level !== undefined) lag(m.level);
  if (m.end) { flush(); ended = true; text({ ended: m.end }); setTimeout(() => { if (socket) socket.close(); close(); }, 300); }
};

async function read(readable) {
  const r = readable.getReader();
  for (;;) {
    const { value, done } = await r.read();
    if (done) return;
    const pcm = new Float32Array(value.numberOfFrames);
    value.copyTo(pcm, { planeIndex: 0, format: "f32-planar" });
    value.close();
    take(pcm);
  }
}

// take gathers some 40 ms.
function take(pcm) {
  if (!gathered) began = performance.now();
  gather.push(pcm); gathered += pcm.length;
  if (gathered * 25 >= device.rate) flush();
}
function flush() {
  if (!gathered) return;
  const pcm = new Float32Array(gathered);
  let at = 0;
  for (const g of gather) { pcm.set(g, at); at += g.length; }
  gather = []; gathered = 0;
  blocks.push({ first: count, pcm }); held += pcm.length;
  count += pcm.length;
  marks.push([count, began]);
  if (marks.length > 200) marks.shift();
  // What was sent stays a while, in case the connection breaks.
  while (held > most * device.rate && blocks.length > 1) held -= blocks.shift().pcm.length;
  send();
}
function send() {
  if (!open) return;
  for (const b of blocks) {
    if (b.first < sent) continue;
    const m = new ArrayBuffer(16 + 4 * b.pcm.length), v = new DataView(m);
    v.setFloat64(0, b.first, true); v.setFloat64(8, performance.now(), true);
    new Float32Array(m, 16).set(b.pcm);
    socket.send(m);
    sent = b.first + b.pcm.length;
  }
  postMessage({ sent, durable });
}
function text(m) { if (open) socket.send(JSON.stringify(m)); }

function connect() {
  socket = new WebSocket(url);
  socket.binaryType = "arraybuffer";
  socket.onopen = () => { socket.send(JSON.stringify(device)); };
  socket.onmessage = e => {
    const m = JSON.parse(e.data);
    if (m.next !== undefined) { open = true; sent = m.next < 0 ? count : m.next; if (wasOpen) postMessage({ back: true }); wasOpen = true; send(); }
    if (m.durable !== undefined) durable = m.durable;
    if (m.error) { ended = true; postMessage({ error: m.error }); }
  };
  socket.onclose = () => {
    const was = open;
    open = false;
    if (ended) return;
    if (was) postMessage({ away: true });
    setTimeout(connect, 500);
  };
}

// lag is how far the level that is shown is behind the sound: when the first of
// the samples that came with its last one was taken, against now.
function lag(sample) {
  const i = marks.findIndex(m => m[0] >= sample);
  if (i >= 0) postMessage({ lag: performance.now() - marks[i][1] });
}
