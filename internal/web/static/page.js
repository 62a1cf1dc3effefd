// What the page does beyond its forms and links: keys, acts without a reload,
// recordings and pictures dropped or pasted. Without it everything still works.
"use strict";
(() => {
  const root = document.documentElement;
  root.classList.add("js");
  const doing = () => document.getElementById("doing");

  // say puts words in the doing line; done 0 to 1 draws how far.
  function say(words, done, bad) {
    const d = doing();
    d.hidden = !words;
    d.classList.toggle("bad", !!bad);
    d.textContent = words || "";
    if (done !== undefined && words) {
      const bar = document.createElement("progress");
      if (done !== null) { bar.max = 1; bar.value = done; }
      d.append(bar);
    }
  }

  // show puts the page that came as text in place of this one, and the hands
  // back where they were.
  function show(html, url) {
    const next = new DOMParser().parseFromString(html, "text/html");
    const was = document.activeElement, name = was && (was.id || was.dataset.focus || was.name), value = was && was.value;
    const y = window.scrollY, open = [...document.querySelectorAll("main details[id]")].map(d => [d.id, d.open]);
    for (const sel of ["main", "form.undo", ".head"]) {
      const a = document.querySelector(sel), b = next.querySelector(sel);
      if (a && b) a.replaceWith(b);
      else if (a && sel === "form.undo") a.remove();
      else if (b && sel === "form.undo") document.querySelector("main").after(b);
    }
    if (!url || new URL(url).pathname === location.pathname) for (const [id, is] of open) { const d = document.getElementById(id); if (d) d.open = is; }
    document.title = next.title;
    if (url && new URL(url).pathname !== location.pathname) { history.pushState(null, "", url); window.scrollTo(0, 0); } else window.scrollTo(0, y);
    const again = name && (document.getElementById(name) || document.querySelector(`[data-focus="${CSS.escape(name)}"]`) ||
      [...document.getElementsByName(name)].find(e => e.value === value));
    if (again) again.focus({ preventScroll: true });
    document.dispatchEvent(new Event("shown"));
  }

  async function send(form, submitter) {
    const data = new FormData(form, submitter);
    const body = form.enctype === "multipart/form-data" ? data : new URLSearchParams(data);
    try {
      const r = await fetch(form.action, { method: "POST", body });
      const text = await r.text();
      if (r.ok) { say(""); show(text, r.url); } else trouble(text, r.status);
    } catch { say("The program does not answer. What was done before is kept; start it again, then repeat this.", undefined, true); }
  }

  function trouble(text, status) {
    const t = new DOMParser().parseFromString(text, "text/html").querySelector(".trouble .lead");
    say(t ? t.textContent : "That was not done (" + status + ").", undefined, true);
  }

  // Pressed again before the answer, a form is not sent again.
  const sent = new WeakSet();
  window.addEventListener("pageshow", e => { if (e.persisted) location.reload(); });
  document.addEventListener("submit", e => {
    const form = e.target;
    if (form.method === "post") {
      if (sent.has(form)) { e.preventDefault(); return; }
      sent.add(form);
    }
    if (form.matches("[data-stay]")) { e.preventDefault(); send(form, e.submitter).finally(() => sent.delete(form)); }
    else if (form.matches("[data-upload]")) { e.preventDefault(); upload(form).finally(() => sent.delete(form)); }
  });

  // upload sends sound or pictures one after another, and says how far it is.
  async function upload(form, files) {
    const kind = form.dataset.upload, input = form.querySelector("input[type=file]");
    files = [...(files || input.files)];
    let last = null;
    for (const [i, file] of files.entries()) {
      const which = files.length > 1 ? ` (${i + 1} of ${files.length})` : "";
      const data = new FormData(form);
      data.set(kind, file, file.name);
      const task = crypto.randomUUID();
      data.set("task", task);
      last = await sendFile(form.action, data, file.name + which, task, kind);
      if (!last) return;
    }
    input.value = "";
    if (last) { say(""); show(last.responseText, last.responseURL); }
  }

  function sendFile(url, data, name, task, kind) {
    return new Promise(done => {
      const x = new XMLHttpRequest();
      let poll = 0;
      x.upload.onprogress = e => say("Taking in " + name, e.lengthComputable ? e.loaded / e.total : null);
      x.upload.onload = () => {
        if (kind !== "sound") { say("Looking at " + name, null); return; }
        say("Listening to " + name, null);
        poll = setInterval(async () => {
          const r = await fetch("/progress/" + task).catch(() => null);
          if (!r || !r.ok || !poll) return;
          const h = await r.json();
          if (poll) say(`Listening to ${name}: ${Math.round(h.done_s)}${h.total_s ? " of " + Math.round(h.total_s) : ""} s`, h.total_s ? h.done_s / h.total_s : null);
        }, 400);
      };
      const end = ok => { clearInterval(poll); poll = 0; done(ok ? x : null); };
      x.onload = () => { if (x.status < 400) end(true); else { end(false); trouble(x.responseText, x.status); } };
      x.onerror = () => { end(false); say("The program does not answer. Nothing of " + name + " was kept; start it again, then send it again.", undefined, true); };
      x.open("POST", url);
      x.send(data);
    });
  }

  document.addEventListener("change", e => { if (e.target.matches("[data-send]") && e.target.files.length) upload(e.target.form); });
  const target = e => e.target.closest && (e.target.closest(".drop") || document.querySelector(kindOf(e) === "picture" ? "[data-upload=picture]" : "[data-upload=sound]"));
  const kindOf = e => [...(e.dataTransfer ? e.dataTransfer.items : [])].some(i => i.type.startsWith("image/")) ? "picture" : "sound";
  document.addEventListener("dragover", e => { const t = target(e); if (t) { e.preventDefault(); t.classList.add("over"); } });
  document.addEventListener("dragleave", e => { const t = target(e); if (t) t.classList.remove("over"); });
  document.addEventListener("drop", e => {
    const t = target(e);
    if (!t || !e.dataTransfer.files.length) return;
    e.preventDefault();
    t.classList.remove("over");
    const pictures = [...e.dataTransfer.files].every(f => f.type.startsWith("image/"));
    const form = document.querySelector(pictures ? "[data-upload=picture]" : "[data-upload=sound]") || t;
    upload(form, e.dataTransfer.files);
  });
  document.addEventListener("paste", e => {
    const files = [...(e.clipboardData ? e.clipboardData.files : [])].filter(f => f.type.startsWith("image/"));
    const form = document.querySelector("[data-upload=picture]");
    if (files.length && form) { e.preventDefault(); upload(form, files); }
  });

  // Keys: one letter presses what shows it; not while one writes.
  document.addEventListener("keydown", e => {
    if (e.ctrlKey || e.metaKey || e.altKey || e.target.matches("input:not([type=radio]):not([type=checkbox]),textarea,select")) return;
    for (const el of document.querySelectorAll("[data-key],.press")) {
      const k = el.dataset.key || (el.querySelector("kbd") && el.querySelector("kbd").textContent.toLowerCase());
      if (k !== e.key.toLowerCase()) continue;
      e.preventDefault();
      if (el.matches("input")) el.focus(); else el.click();
      return;
    }
  });

  // Among taps the arrows go up and down from item to item and along the words
  // of one; a figure presses a word of the item at hand.
  document.addEventListener("keydown", e => {
    const item = e.target.closest && e.target.closest(".item");
    if (!item || e.ctrlKey || e.metaKey || e.altKey || e.target.matches("input,textarea,select")) return;
    const inside = [...item.querySelectorAll("button.tap,.four button,.more .word")];
    let to = null;
    if (e.key === "ArrowDown" || e.key === "ArrowUp") {
      const all = [...document.querySelectorAll(".item")].filter(i => i.offsetParent), next = all[all.indexOf(item) + (e.key === "ArrowDown" ? 1 : -1)];
      to = next && next.querySelector("button.tap,.four button");
    } else if (e.key === "ArrowRight") to = inside[inside.indexOf(e.target) + 1];
    else if (e.key === "ArrowLeft") to = inside[inside.indexOf(e.target) - 1];
    else if (e.key >= "1" && e.key <= "9") {
      const word = item.querySelectorAll(".more.words .word")[e.key - 1];
      if (word) { e.preventDefault(); word.click(); }
      return;
    }
    if (to) { e.preventDefault(); to.focus(); }
  });

  // Search as one types: the list is asked for again, the newest answer wins.
  let asked = 0;
  document.addEventListener("input", async e => {
    const form = e.target.closest("form[data-find]");
    if (!form) return;
    const mine = ++asked, q = new URLSearchParams(new FormData(form));
    const r = await fetch(form.action + "?" + q).catch(() => null);
    if (!r || !r.ok) return;
    const html = await r.text();
    if (mine !== asked) return;
    const next = new DOMParser().parseFromString(html, "text/html").querySelector("#found");
    document.getElementById("found").replaceWith(next);
    const answer = document.getElementById("answer"), said = next.querySelector("h1");
    if (answer && said && answer.textContent !== said.textContent) answer.textContent = said.textContent;
    history.replaceState(null, "", form.action + "?" + q);
  });
  // In a list the arrows go from the search down the rows and back; Escape
  // goes back to the search at once.
  document.addEventListener("keydown", e => {
    const search = document.querySelector("form[data-find] input[type=search]");
    if (!search || e.ctrlKey || e.metaKey || e.altKey || !["ArrowDown", "ArrowUp", "Escape"].includes(e.key)) return;
    const rows = [...document.querySelectorAll("#found [data-row]")], here = rows.indexOf(e.target);
    if (here < 0 && (e.target !== search || e.key !== "ArrowDown")) return;
    const to = e.key === "Escape" ? search : e.key === "ArrowDown" ? rows[here + 1] : rows[here - 1] || search;
    if (to) { e.preventDefault(); to.focus(); }
  });
  // What takes a moment to draw comes after the page.
  async function later() {
    for (const el of document.querySelectorAll("[data-later]")) {
      const r = await fetch(el.dataset.later).catch(() => null);
      if (!el.isConnected) return;
      if (r && r.ok) { el.outerHTML = await r.text(); continue; }
      el.textContent = "Not drawn: the kept sound could not be measured. Load the page again to try once more.";
    }
  }
  document.addEventListener("shown", later);
  later();
  window.addEventListener("popstate", () => location.reload());
})();
