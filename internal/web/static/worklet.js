// For browsers that cannot hand a track to a Worker: passes samples on in blocks.
"use strict";
registerProcessor("taker", class extends AudioWorkletProcessor {
  constructor() {
    super();
    this.block = new Float32Array(2048); this.n = 0;
    this.port.onmessage = e => { this.out = e.data.port; };
  }
  process(inputs) {
    const x = inputs[0][0];
    if (!x || !this.out) return true;
    for (let i = 0; i < x.length; i++) {
      this.block[this.n++] = x[i];
      if (this.n === this.block.length) { this.out.postMessage(this.block); this.block = new Float32Array(2048); this.n = 0; }
    }
    return true;
  }
});
