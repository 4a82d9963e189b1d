// Package web answers: what does a person see who pastes a report into a page?
//
// A page is a pure function: Page takes the fields of a form and returns
// bytes. It reads no file, clock or network, so the same pages run behind
// net/http (Handler) and inside a browser (the WebAssembly build). There is
// one page and one form; every press of a button posts the whole form, and the
// answer is the whole page again. The address bar holds no data, and nothing
// is kept between two presses: what is needed again stands in the form.
//
// Corrections, settled doubts and the chosen sample belong to the report they
// were made on: the form carries a mark of it, and another report pasted over
// the first starts afresh.
//
// The log of a rig is one more field of the form: the text of the file that
// the command line keeps (package riglog). An entry that is written down is
// added to that text, and the log is held against the plan of the report in
// the form, or against a plan document. What day it is comes from the form
// too; a server fills in its own where the page says none. Because the text is
// all there is, the page never puts another in its place unseen: a file is
// opened over a log only if it goes on from it, and a browser that keeps a log
// does not write over what another window kept meanwhile.
//
// The page works without JavaScript. With it, page.js replaces the answer in
// place, plans again when a stage is switched, takes dropped files, and keeps the rig
// and the log in the storage of the browser when the person says so.
//
// Guards of the handler: loopback host names only (against DNS rebinding), no
// cross-origin posts, a strict content security policy without inline script
// or style, limits on body, time and concurrent work. Every text of a report
// is escaped by the templates and by package render.
//
// Site writes the same page as files for any file host. The engine, package
// wasm beside this one, runs in a web worker, so that long work does not
// freeze the page; cancelling ends the worker, since WebAssembly cannot be
// interrupted. A service worker keeps the files for use without a network.
// The policy of the page stands in a meta element; a worker takes its policy
// from the headers of its file, which a plain file host does not send, so what
// keeps the worker from the network is that its code has no address to ask.
//
// The browser tests drive headless Chromium over its debugging protocol and
// are left out, with a message, where there is none. FOREBED_AXE names the
// axe.min.js of the npm package axe-core, for the checks of accessibility;
// FOREBED_SHOTS names a folder for pictures of the page to look at.
package web
