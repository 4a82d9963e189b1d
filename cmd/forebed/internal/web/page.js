// The page works without this file. With it, an answer replaces the page in
// place, a switched stage plans again at once, and files can be dropped.
"use strict";

(function () {
  let current = null; // the press that is under way

  function form() { return document.getElementById("form"); }

  // ask sends the form and returns the answer. A static site sets
  // window.forebed to answer in the browser instead of on a server.
  async function ask(data, signal) {
    if (window.forebed) { return window.forebed(data, signal); }
    const answer = await fetch("./", { method: "POST", body: data, signal: signal });
    const name = /filename="([^"]+)"/.exec(answer.headers.get("Content-Disposition") || "");
    return { type: answer.headers.get("Content-Type"), filename: name && name[1], body: await answer.blob() };
  }

  function save(blob, name) {
    const link = document.createElement("a");
    link.href = URL.createObjectURL(blob);
    link.download = name;
    link.click();
    setTimeout(function () { URL.revokeObjectURL(link.href); }, 1000);
  }

  async function press(value, focus) {
    if (current) { current.abort(); }
    const mine = new AbortController();
    current = mine;
    const data = new FormData(form());
    data.set("do", value);
    const main = document.getElementById("main");
    main.classList.add("busy");
    main.setAttribute("aria-busy", "true");
    document.getElementById("status").textContent = "Working ...";
    try {
      const answer = await ask(data, mine.signal);
      if (mine.signal.aborted) { return; }
      if (answer.filename) {
        save(answer.body, answer.filename);
        document.getElementById("status").textContent = "Saved " + answer.filename + ".";
      } else {
        show(await answer.body.text(), focus);
      }
    } catch (e) {
      if (e.name === "AbortError") { return; }
      document.getElementById("status").textContent = "The answer did not come: " + e.message;
    } finally {
      if (current === mine) {
        current = null;
        const now = document.getElementById("main");
        now.classList.remove("busy");
        now.removeAttribute("aria-busy");
      }
    }
  }

  function show(html, focus) {
    const fresh = new DOMParser().parseFromString(html, "text/html").getElementById("main");
    if (!fresh) { throw new Error("the program gave no page"); }
    const open = Array.from(document.querySelectorAll("details")).map(function (d) { return d.open; });
    document.getElementById("main").replaceWith(fresh);
    document.querySelectorAll("details").forEach(function (d, i) { if (open[i]) { d.open = true; } });
    const alert = document.querySelector(".faults");
    const target = alert || (focus && document.getElementById(focus));
    if (target) {
      if (alert) { alert.tabIndex = -1; }
      target.focus({ preventScroll: !alert });
    }
  }

  document.addEventListener("submit", function (e) {
    if (e.target.id !== "form") { return; }
    e.preventDefault();
    press(e.submitter ? e.submitter.value : "plan", document.activeElement && document.activeElement.id);
  });

  document.addEventListener("change", function (e) {
    const planned = document.getElementById("plan");
    if (e.target.closest("#stages") && planned) { press("plan", e.target.id); }
    if (e.target.name === "acknowledge") { press("plan", null); }
    if (e.target.id === "file" && e.target.files.length) { press("read", "file"); }
  });

  document.addEventListener("dragover", function (e) {
    if (e.target.id === "report") { e.preventDefault(); e.target.classList.add("drop"); }
  });
  document.addEventListener("dragleave", function (e) {
    if (e.target.id === "report") { e.target.classList.remove("drop"); }
  });
  document.addEventListener("drop", function (e) {
    if (e.target.id !== "report" || !e.dataTransfer.files.length) { return; }
    e.preventDefault();
    e.target.classList.remove("drop");
    document.getElementById("file").files = e.dataTransfer.files;
    press("read", "report");
  });
})();
