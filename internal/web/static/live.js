// The live page: what is heard comes as parts of the page, sound goes up from a
// Worker of its own. Nothing is measured here.
"use strict";
(() => {
  const live = document.getElementById("live");
  if (!live) return;
  const id = live.dataset.id, base = "/live/" + id;
  const $ = name => document.getElementById(name);
  const state = window.listening = { phase: "", coming: false, sent: 0, durable: 0, lag: [] };
  const store = { get: k => { try { return localStorage.getItem(k); } catch { return null; } }, set: (k, v) => { try { localStorage.setItem(k, v); } catch { } } };

  // morph makes a like b with as little as can be, so that bars move and focus
  // stays.
  function morph(a, b) {
    if (a.nodeType !== b.nodeType || a.nodeName !== b.nodeName) { a.replaceWith(b.cloneNode(true)); return; }
    if (a.nodeType !== Node.ELEMENT_NODE) { if (a.data !== b.data) a.data = b.data; return; }
    for (const at of [...a.attributes]) if (!b.hasAttribute(at.name)) a.removeAttribute(at.name);
    for (const at of b.attributes) if (a.getAttribute(at.name) !== at.value) a.setAttribute(at.name, at.value);
    const as = [...a.childNodes], bs = [...b.childNodes];
    for (let i = 0; i < Math.max(as.length, bs.length); i++) {
      if (i >= bs.length) as[i].remove();
      else if (i >= as.length) a.append(bs[i].cloneNode(true));
      else morph(as[i], bs[i]);
    }
  }
  function show(part, html) {
    const el = live.querySelector(`[data-part="${part}"]`);
    if (!el) return;
    const next = el.cloneNode(false);
    next.innerHTML = html;
    morph(el, next);
  }
  // local words that come before what the program says: the microphone's trouble.
  let trouble = null;
  function say(lead, rest) {
    trouble = lead ? [lead, rest] : null;
    tell();
  }
  function tell() {
    const line = live.querySelector(".line");
    if (!trouble || !line) return;
    line.className = "line stop";
    const p = line.querySelector(".lead");
    p.replaceChildren(Object.assign(document.createElement("b"), { textContent: trouble[0] }), " " + trouble[1]);
  }

  // One stream a tab, and none while it is hidden.
  let stream = null;
  function follow() {
    if (stream || document.hidden) return;
    stream = new EventSource(base + "/events");
    stream.addEventListener("view", e => {
      const v = JSON.parse(e.data);
      state.phase = v.phase; state.coming = v.coming; state.version = v.version;
      live.dataset.phase = v.phase;
      if (v.phase === "ended" && state.capturing) stop();
      for (const [part, html] of Object.entries(v.parts || {})) show(part, html);
      tell();
      speak(v);
    });
    stream.addEventListener("level", e => level(JSON.parse(e.data)));
  }
  function unfollow() { if (stream) stream.close(); stream = null; }
  document.addEventListener("visibilitychange", () => document.hidden ? unfollow() : follow());
  window.addEventListener("pagehide", () => { unfollow(); if (worker) worker.postMessage({ end: "closed" }); });
  follow();
  // An act undone from here changes more than parts: the page begins anew.
  document.addEventListener("shown", () => location.reload());

  // The level is a plain line, −60 dB to full scale.
  function level(l) {
    const x = db => Math.max(0, Math.min(600, 600 + 10 * db));
    $("peak").setAttribute("d", `M0 12H${x(l.peak)}`);
    $("rms").setAttribute("d", `M0 12H${x(l.rms)}`);
    live.querySelector(".level").classList.toggle("clipped", !!l.clipped);
    const n = (l.beats || []).length;
    $("heardbeats").textContent = n ? `${n} ${n === 1 ? "beat" : "beats"} in the last second.` : "";
    state.level = l;
    if (worker && l.sample) worker.postMessage({ level: l.sample });
  }

  // Acts: no reload; what is pressed twice is done twice only if the answer came.
  let acting = false;
  document.addEventListener("submit", async e => {
    if (!e.target.matches("form[data-live]")) return;
    e.preventDefault(); e.stopImmediatePropagation();
    if (acting) return;
    acting = true;
    const data = new FormData(e.target, e.submitter);
    await act(data);
    acting = false;
  }, true);
  async function act(data) {
    try {
      const r = await fetch(base + "/act", { method: "POST", body: new URLSearchParams(data), headers: { Accept: "application/json" } });
      if (!r.ok) { const d = $("doing"); d.hidden = false; d.textContent = (new DOMParser().parseFromString(await r.text(), "text/html").querySelector(".trouble .lead") || {}).textContent || "That was not done."; setTimeout(() => { d.hidden = true; }, 4000); }
    } catch { say("The program does not answer.", "What was heard before is kept; start it again, then reload this page."); }
  }

  // A pedal types some key: it can be taught for accept, repeat and skip.
  const pedal = JSON.parse(store.get("pedal") || "{}");
  let teaching = -1;
  const lessons = [["accept", "accept"], ["repeat", "hear again"], ["skip", "skip"]];
  const ask = () => { $("taught").textContent = teaching < lessons.length ? `Press the pedal for “${lessons[teaching][1]}”, or Escape for none.` : "Learnt."; };
  $("teach").addEventListener("click", () => { teaching = 0; ask(); });
  document.addEventListener("keydown", e => {
    if (teaching >= 0 && teaching < lessons.length) {
      e.preventDefault(); e.stopImmediatePropagation();
      for (const k of Object.keys(pedal)) if (pedal[k] === lessons[teaching][0]) delete pedal[k];
      if (e.key !== "Escape") pedal[e.key] = lessons[teaching][0];
      teaching++; ask();
      if (teaching === lessons.length) { store.set("pedal", JSON.stringify(pedal)); teaching = -1; }
      return;
    }
    if (e.target.matches("input:not([type=checkbox]),select,textarea") || e.ctrlKey || e.metaKey || e.altKey) return;
    if (pedal[e.key]) { e.preventDefault(); e.stopImmediatePropagation(); act(new URLSearchParams({ act: pedal[e.key] })); return; }
    // The space bar is accept, whatever has the focus.
    if (e.key === " ") { const b = live.querySelector('[data-key=" "]'); if (b) { e.preventDefault(); e.stopImmediatePropagation(); b.click(); } }
  }, true);

  // The voice: only one of this computer, never while listening.
  let saidLast = store.get("said:" + id) || "0";
  function speak(v) {
    if (!v.say || String(v.say_once) === saidLast || !["turn", "asking"].includes(v.phase)) return;
    saidLast = String(v.say_once); store.set("said:" + id, saidLast);
    if (!$("voice").checked) return;
    const local = window.speechSynthesis ? speechSynthesis.getVoices().filter(x => x.localService && x.lang.startsWith(document.documentElement.lang)) : [];
    state.spoken = v.say;
    if (!local.length) { tone(); return; }
    const u = new SpeechSynthesisUtterance(v.say);
    u.voice = local[0];
    u.onstart = () => speaking(true);
    u.onend = u.onerror = () => setTimeout(() => speaking(false), 200);
    speechSynthesis.speak(u);
  }
  function tone() {
    try {
      const c = new AudioContext(), o = c.createOscillator(), g = c.createGain();
      o.frequency.value = 520; g.gain.value = 0.06;
      o.connect(g).connect(c.destination);
      speaking(true); o.start(); o.stop(c.currentTime + 0.18);
      o.onended = () => { c.close(); setTimeout(() => speaking(false), 150); };
    } catch { speaking(false); }
  }
  function speaking(on) { if (worker) worker.postMessage({ speaking: on }); }
  $("voice").checked = store.get("voice") !== "off";
  $("voice").addEventListener("change", () => { store.set("voice", $("voice").checked ? "on" : "off"); if (window.speechSynthesis) speechSynthesis.cancel(); });

  $("showlevel").checked = store.get("level") === "on";
  const showLevel = () => live.classList.toggle("levelled", $("showlevel").checked);
  $("showlevel").addEventListener("change", () => { store.set("level", $("showlevel").checked ? "on" : "off"); showLevel(); });
  showLevel();

  // The microphone.
  let worker = null, track = null, context = null;
  async function devices() {
    if (!navigator.mediaDevices) return;
    const all = (await navigator.mediaDevices.enumerateDevices()).filter(d => d.kind === "audioinput");
    const was = store.get("microphone"), select = $("microphone"), name = store.get("microphone-name");
    select.replaceChildren(new Option("as the computer has it", ""), ...all.filter(d => d.deviceId && d.deviceId !== "default").map(d => new Option(d.label || "microphone", d.deviceId)));
    const same = all.find(d => d.deviceId === was) || all.find(d => d.label && d.label === name);
    select.value = same ? same.deviceId : "";
  }
  $("microphone").addEventListener("change", () => {
    const o = $("microphone").selectedOptions[0];
    store.set("microphone", o.value); store.set("microphone-name", o.value ? o.text : "");
    if (track) begin();
  });
  live.addEventListener("click", e => { if (e.target.closest("#listen,[data-listen]")) begin(); });
  const why = {
    NotAllowedError: ["The microphone was refused.", "Nothing is lost. Allow it beside the address, then press Listen."],
    NotFoundError: ["No microphone is there.", "Plug one in, then press Listen."],
    NotReadableError: ["The microphone is in use elsewhere.", "Close the other program, then press Listen."],
    OverconstrainedError: ["The microphone chosen is not there.", "Plug it in or choose another, then press Listen."],
  };
  async function begin() {
    stop();
    say("");
    if (!navigator.mediaDevices) { say("This page may not listen.", "Open it at the address that the program printed, on the computer itself: http://127.0.0.1"); return; }
    const chosen = $("microphone").value;
    const want = { echoCancellation: false, noiseSuppression: false, autoGainControl: false, channelCount: { ideal: 1 } };
    if (chosen) want.deviceId = { exact: chosen };
    let media;
    try { media = await navigator.mediaDevices.getUserMedia({ audio: want }); } catch (e) {
      const [lead, rest] = why[e.name] || ["The microphone cannot be had: " + e.message + ".", "Choose another, then press Listen."];
      say(lead, rest); state.refused = e.name; return;
    }
    store.set("listened", "yes");
    track = media.getAudioTracks()[0];
    const s = track.getSettings();
    track.addEventListener("ended", () => { if (worker) worker.postMessage({ end: "unplugged" }); track = null; state.capturing = false; });
    devices();
    const device = { device: track.label || "microphone", rate: s.sampleRate || 48000, echo: !!s.echoCancellation, noise: !!s.noiseSuppression, gain: !!s.autoGainControl, capture: crypto.randomUUID() };
    worker = new Worker("/static/capture.js");
    worker.onmessage = e => heardFrom(e.data);
    const url = location.origin.replace(/^http/, "ws") + base + "/sound";
    if ("MediaStreamTrackProcessor" in window) {
      const readable = new MediaStreamTrackProcessor({ track, maxBufferSize: 512 }).readable;
      worker.postMessage({ url, device: { ...device, path: "processor" }, readable }, [readable]);
    } else {
      context = new AudioContext({ sampleRate: device.rate });
      await context.audioWorklet.addModule("/static/worklet.js");
      const node = new AudioWorkletNode(context, "taker", { numberOfInputs: 1, numberOfOutputs: 0, channelCount: 1, channelCountMode: "explicit" });
      const pipe = new MessageChannel();
      node.port.postMessage({ port: pipe.port1 }, [pipe.port1]);
      context.createMediaStreamSource(media).connect(node);
      worker.postMessage({ url, device: { ...device, rate: context.sampleRate, path: "worklet" }, port: pipe.port2 }, [pipe.port2]);
    }
    state.capturing = true;
  }
  function heardFrom(m) {
    if (m.error) { stop(); say("This page sends nothing more.", m.error[0].toUpperCase() + m.error.slice(1) + "."); }
    if (m.sent !== undefined) { state.sent = m.sent; state.durable = m.durable; }
    if (m.lag !== undefined) { state.lag.push(m.lag); if (state.lag.length > 2000) state.lag.shift(); }
    if (m.away) say("The program does not answer.", "Sound is held here for a minute; start the program again, and it goes on.");
    if (m.back) say("");
  }
  function stop() {
    if (worker) { worker.postMessage({ end: "closed" }); worker = null; }
    if (track) { track.stop(); track = null; }
    if (context) { context.close(); context = null; }
    state.capturing = false;
  }
  devices().then(async () => {
    // Listened before and still allowed: it begins by itself.
    if (store.get("listened") !== "yes") return;
    try { if ((await navigator.permissions.query({ name: "microphone" })).state === "granted") begin(); } catch { }
  });
  if (navigator.mediaDevices) navigator.mediaDevices.addEventListener("devicechange", devices);
})();
