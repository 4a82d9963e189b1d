// The static site: it answers the form in a worker of this browser, where the
// server would. See page.js, which calls window.forebed.
"use strict";

(function () {
  let module = null; // the compiled engine, as a promise; kept for the next worker
  let worker = null; // null until the first form, and after a cancelled one

  // engine fetches and compiles the engine. It is kept packed; a host that
  // unpacks it on the way is welcome.
  async function engine() {
    const answer = await fetch("forebed.wasm.gz");
    if (!answer.ok) { throw new Error("the engine could not be loaded (" + answer.status + ")"); }
    const bytes = new Uint8Array(await answer.arrayBuffer());
    const packed = bytes[0] === 0x1f && bytes[1] === 0x8b;
    let stream = new Blob([bytes]).stream();
    if (packed) { stream = stream.pipeThrough(new DecompressionStream("gzip")); }
    return WebAssembly.compileStreaming(new Response(stream, { headers: { "Content-Type": "application/wasm" } }));
  }

  async function start() {
    if (!module) {
      module = engine();
      module.catch(function () { module = null; }); // the next press tries again
    }
    const compiled = await module;
    if (!worker) {
      worker = new Worker("worker.js");
      worker.postMessage({ module: compiled });
    }
    return worker;
  }

  async function fieldsOf(data) {
    const fields = [];
    for (const [name, value] of data.entries()) {
      if (typeof value === "string") {
        fields.push([name, value.replace(/\r?\n/g, "\r\n")]); // as a browser sends it
      } else if (value.size > 0) {
        fields.push([name, new Uint8Array(await value.arrayBuffer()), value.name]);
      }
    }
    return fields;
  }

  window.forebed = async function (data, signal) {
    const fields = await fieldsOf(data);
    const w = await start();
    if (signal.aborted) { throw new DOMException("cancelled", "AbortError"); }
    return new Promise(function (done, fail) {
      // The engine cannot be interrupted, so cancelling ends its worker.
      signal.addEventListener("abort", function () {
        w.terminate();
        if (worker === w) { worker = null; }
        fail(new DOMException("cancelled", "AbortError"));
      });
      w.onmessage = function (e) {
        document.documentElement.dataset.memory = e.data.memory; // bytes that the engine holds; for who wants to know
        if (e.data.error) { fail(new Error(e.data.error)); return; }
        done({ type: e.data.type, filename: e.data.filename, body: new Blob([e.data.body], { type: e.data.type }) });
      };
      w.onerror = function (e) {
        worker = null;
        fail(new Error(e.message || "the engine stopped"));
      };
      w.postMessage({ fields: fields });
    });
  };

  if (typeof WebAssembly !== "object" || typeof DecompressionStream !== "function") {
    document.getElementById("working").textContent = "This browser cannot run the engine: it knows no WebAssembly, or is older than 2023. Use a newer browser, or forebed on the command line.";
    document.querySelectorAll("#form button").forEach(function (b) { b.disabled = true; });
    return;
  }
  start().catch(function () {}); // fetch early; a failure is told at the press
  if ("serviceWorker" in navigator) {
    navigator.serviceWorker.register("offline.js").catch(function () {}); // without it the page works, but not offline
  }
})();
