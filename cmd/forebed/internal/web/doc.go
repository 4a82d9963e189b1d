// Package web answers: what does a person see who pastes a report into a page?
//
// A page is a pure function: Page takes the fields of a form and returns
// bytes. It reads no file, clock or network, so the same pages run behind
// net/http (Handler) and inside a browser (the WebAssembly build). There is
// one page and one form; every press of a button posts the whole form, and the
// answer is the whole page again. The address bar holds no data, and nothing
// is kept between two presses: what is needed again stands in the form.
//
// The page works without JavaScript. With it, page.js replaces the answer in
// place, plans again when a stage is switched, and takes dropped files.
//
// Guards of the handler: loopback host names only (against DNS rebinding), no
// cross-origin posts, a strict content security policy without inline script
// or style, limits on body, time and concurrent work. Every text of a report
// is escaped by the templates and by package render.
package web
