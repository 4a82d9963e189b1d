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
    const name = /filename="?([^";]+)/.exec(answer.headers.get("Content-Disposition") || "");
    return { type: answer.headers.get("Content-Type"), filename: name && name[1], body: await answer.blob() };
  }

  function save(blob, name) {
    const link = document.createElement("a");
    link.href = URL.createObjectURL(blob);
    link.download = name;
    link.click();
    setTimeout(function () { URL.revokeObjectURL(link.href); }, 1000);
  }

  function say(text) { document.getElementById("working").textContent = text; }

  // wait says that work is under way, for how long by now, and how to end it.
  function wait() {
    say("Working ... ");
    const seconds = document.createElement("span");
    seconds.setAttribute("aria-hidden", "true"); // a status that changes every second would be read out every second
    const cancel = document.createElement("button");
    cancel.type = "button";
    cancel.id = "cancel";
    cancel.textContent = "Cancel";
    cancel.addEventListener("click", function () {
      current.abort();
      say("Cancelled.");
    });
    document.getElementById("working").append(seconds, " ", cancel);
    const from = Date.now();
    return setInterval(function () { seconds.textContent = Math.round((Date.now() - from) / 1000) + " s"; }, 1000);
  }

  async function press(value, focus) {
    if (current) { current.abort(); }
    const mine = new AbortController();
    current = mine;
    today();
    const data = new FormData(form());
    data.set("do", value);
    const main = document.getElementById("main");
    main.classList.add("busy");
    main.setAttribute("aria-busy", "true");
    const clock = wait();
    try {
      const answer = await ask(data, mine.signal);
      if (mine.signal.aborted) { return; }
      if (answer.filename) {
        save(answer.body, answer.filename);
        say("Saved " + answer.filename + ".");
      } else {
        show(await answer.body.text(), focus);
      }
    } catch (e) {
      if (e.name === "AbortError") { return; }
      say("The answer did not come: " + e.message);
    } finally {
      clearInterval(clock);
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
    const open = Array.from(document.querySelectorAll("details[open]")).map(function (d) { return d.id; });
    fresh.classList.add("fresh"); // until the first frame is drawn, for what is out of sight is laid out after it
    requestAnimationFrame(function () { setTimeout(function () { fresh.classList.remove("fresh"); }); });
    document.getElementById("main").replaceWith(fresh);
    document.dispatchEvent(new Event("forebed:shown"));
    open.forEach(function (id) {
      const d = document.getElementById(id);
      if (d && id !== "results") { d.open = true; }
    });
    const alert = document.querySelector(".faults");
    const back = !alert && focus && document.getElementById(focus);
    if (back) { back.focus({ preventScroll: true }); return; }
    const answer = document.getElementById("answer");
    if (answer) {
      answer.focus({ preventScroll: true });
      answer.scrollIntoView();
    }
  }

  document.addEventListener("submit", function (e) {
    if (e.target.id !== "form") { return; }
    e.preventDefault();
    // The key Enter in a new entry writes it down; the browser takes it for the first button.
    const typing = document.activeElement.matches("#entry input");
    press(typing ? "log-add" : e.submitter ? e.submitter.value : "plan", null);
  });

  document.addEventListener("change", function (e) {
    const planned = document.getElementById("plan");
    if (e.target.closest("#stages") && planned) { press("plan", e.target.id); }
    if (e.target.name === "acknowledge") { press("plan", null); }
    if (e.target.id === "file" && e.target.files.length) { press("read", null); }
    if ((e.target.id === "log_file" || e.target.id === "plan_file") && e.target.files.length) { press("log", null); }
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
    press("read", null);
  });

  // What day it is here. A day that the person filled in stays.
  let filled = null;
  function today() {
    const field = document.getElementById("today");
    if (filled !== null && field.value !== "" && field.value !== filled) { return; }
    const now = new Date();
    filled = [now.getFullYear(), now.getMonth() + 1, now.getDate()].map(function (n) { return String(n).padStart(2, "0"); }).join("-");
    field.value = filled;
  }

  // A part of the form is kept in this browser when the person says so, and
  // only then. What another window kept meanwhile is not written over.
  const held = {}; // what this window last read or wrote, by part

  function parts() { return Array.from(document.querySelectorAll("[data-keep]")); }

  function place(part) { return "forebed." + part.dataset.keep; }

  function box(part) { return document.getElementById("keep-" + part.dataset.keep); }

  function fieldsOf(part) {
    return Array.from(part.querySelectorAll("input[name], select[name], textarea[name]"))
      .filter(function (f) { return part.dataset.keep === "rig" || f.name === "log" || f.name === "log_name" || f.name === "plan_document"; });
  }

  // read returns what was kept; what is damaged is nothing.
  function read(text) {
    try { return JSON.parse(text) || {}; } catch (e) { return {}; }
  }

  function keep(part) {
    if (localStorage.getItem(place(part)) !== held[place(part)]) {
      say("Not kept: another window of this browser has kept a " + part.dataset.keep + " meanwhile. Save this one as a file, or load the page again to go on with the other.");
      return;
    }
    const kept = {};
    fieldsOf(part).forEach(function (f) { kept[f.name] = f.value; });
    held[place(part)] = JSON.stringify(kept);
    try {
      localStorage.setItem(place(part), held[place(part)]);
    } catch (e) {
      say("Not kept: this browser has no room for it. Save it as a file.");
    }
  }

  function forget(part) {
    localStorage.removeItem(place(part));
    held[place(part)] = null;
    say("Forgotten: this browser no longer keeps the " + part.dataset.keep + ".");
  }

  function showBoxes() {
    parts().forEach(function (part) {
      box(part).closest(".keep").hidden = false;
      box(part).checked = held[place(part)] !== null;
      if (box(part).checked) { keep(part); }
    });
  }

  document.addEventListener("change", function (e) {
    const part = e.target.closest("[data-keep]");
    if (!part || e.target.type === "file" || box(part).closest(".keep").hidden) { return; }
    if (e.target === box(part) && !e.target.checked) { forget(part); return; }
    if (box(part).checked) { keep(part); }
  });

  today();
  try {
    parts().forEach(function (part) {
      held[place(part)] = localStorage.getItem(place(part));
      const kept = read(held[place(part)]);
      fieldsOf(part).forEach(function (f) { if (typeof kept[f.name] === "string") { f.value = kept[f.name]; } });
      if (kept.log) { document.getElementById("logbook").open = true; }
    });
    showBoxes();
    document.addEventListener("forebed:shown", showBoxes);
  } catch (e) {} // this browser keeps nothing for pages, so nothing is offered
})();
