// The worker of the static site: it holds the engine and answers one form at
// a time. The page sends the compiled module once, then forms.
"use strict";

importScripts("wasm_exec.js");

let ready = null;
let memory = null; // of the engine

self.addEventListener("message", function (e) {
  if (e.data.module) {
    const go = new Go();
    ready = WebAssembly.instantiate(e.data.module, go.importObject).then(function (instance) {
      memory = instance.exports.mem;
      go.run(instance); // sets forebedAnswer before it waits
    });
    return;
  }
  ready.then(function () {
    const answer = self.forebedAnswer(e.data.fields);
    answer.memory = memory.buffer.byteLength;
    self.postMessage(answer, answer.body ? [answer.body.buffer] : []);
  }).catch(function (err) { self.postMessage({ error: String(err) }); });
});
