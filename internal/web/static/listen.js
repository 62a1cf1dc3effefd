// Before a round: how long it will take, as positions are ticked.
"use strict";
(() => {
  const form = document.getElementById("begin");
  if (!form) return;
  const words = s => s < 90 ? Math.round(s) + " s" : Math.round(s / 60) + " min";
  const reckon = () => {
    const more = form.more.value.split(/[ ,;]+/).filter(Boolean).length;
    const n = form.querySelectorAll("[name=position]:checked").length + more;
    for (const id of ["quick", "record"]) { const el = document.getElementById(id); el.textContent = n ? "about " + words(n * el.dataset.each) : "no position"; }
  };
  form.addEventListener("input", reckon);
  reckon();
})();
