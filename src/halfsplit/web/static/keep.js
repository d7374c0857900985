// What is entered is kept by the browser until the program says that it has it.
// A reading, a note, a thing seen, a change of the sketch: each has its own key and is sent in order.
(function () {
  "use strict";
  var SHELF = "halfsplit-unsent";
  var FORM = { "Content-Type": "application/x-www-form-urlencoded" };
  var sending = false;

  function unsent() {
    try { return JSON.parse(localStorage.getItem(SHELF) || "[]"); } catch (error) { return []; }
  }
  function store(items) {
    try { localStorage.setItem(SHELF, JSON.stringify(items)); }
    catch (error) { say("This browser keeps nothing: stay on this page until all is sent."); }
    show();
  }
  function keep(item) { store(unsent().filter(function (old) { return old.key !== item.key; }).concat([item])); }
  function drop(key) { store(unsent().filter(function (old) { return old.key !== key; })); }
  function mark(key, more) {
    store(unsent().map(function (item) { return item.key === key ? Object.assign(item, more) : item; }));
  }
  function freshKey() {
    var bytes = new Uint8Array(12);
    crypto.getRandomValues(bytes);
    return Array.from(bytes, function (b) { return b.toString(16).padStart(2, "0"); }).join("");
  }
  function words(data) {
    if (data.get("saw")) { return data.get("saw"); }
    if (data.get("text")) { return "note: " + data.get("text"); }
    if (data.get("do") === "back") { return "taken back: " + data.get("what"); }
    if (data.get("check")) { return "nothing found: " + data.get("what"); }
    return ((data.get("pair") || "") + " " + (data.get("over") ? "over range" : data.get("shown") || "")).trim();
  }
  function body(data) { return new URLSearchParams(data).toString(); }

  // Show what waits: beside its rung at once, and what cannot be sent in a list at the top.
  function show() {
    var items = unsent();
    var box = document.getElementById("waiting");
    if (box) {
      var stuck = items.filter(function (item) { return item.waits || item.refused; });
      box.hidden = stuck.length === 0;
      box.replaceChildren();
      if (stuck.length) {
        line(box, "p", stuck.length === 1 ? "1 entry is kept on this device." : stuck.length + " entries are kept on this device.");
        var list = line(box, "ul", "");
        stuck.forEach(function (item) { list.appendChild(stuckRow(item)); });
      }
    }
    document.querySelectorAll("[data-kept-for]").forEach(function (list) {
      list.textContent = "";
      items.forEach(function (item) {
        if (item.refused || item.at !== list.dataset.keptFor || item.url.indexOf(location.pathname) !== 0) { return; }
        line(list, "li", item.words + (item.waits ? " · not sent yet" : " · being weighed"));
      });
    });
  }
  function line(parent, tag, text) {
    var made = document.createElement(tag);
    made.textContent = text;
    parent.appendChild(made);
    return made;
  }
  function stuckRow(item) {
    var row = document.createElement("li");
    line(row, "span", item.words + (item.at ? " at " + item.at : "") + ": " + (item.refused || "will be sent when the program answers again. "));
    if (item.refused) {
      var away = line(row, "button", "Throw it away");
      away.type = "button";
      away.addEventListener("click", function () { drop(item.key); });
    }
    return row;
  }
  function say(text) {
    var box = document.getElementById("said");
    if (box) { box.replaceChildren(); line(box, "p", text); }
  }

  // Forms of the living part: htmx sends them, a double tap or a second try is one entry.
  document.addEventListener("htmx:configRequest", function (event) {
    var form = event.detail.elt;
    if (!form.matches || !form.matches("form[data-keep]")) { return; }
    var data = event.detail.formData;
    if (!data.get("shown") && !data.get("saw") && !data.get("over") && !data.get("seen") && !data.get("check") && !(data.get("text") || "").trim()) {
      event.preventDefault();
      say(form.dataset.keep === "note" ? "Write some words first." : "Enter what it shows, or tap what was seen.");
      return;
    }
    var key = form.dataset.sending || freshKey();
    form.dataset.sending = key;
    data.set("key", key);
    keep({ key: key, url: form.getAttribute("action"), body: body(data), at: data.get("at") || "", words: words(data), waits: false });
    if (navigator.onLine === false) {
      event.preventDefault();
      wait(form);
    }
  });
  function wait(form) {
    mark(form.dataset.sending, { waits: true });
    delete form.dataset.sending;
    form.querySelectorAll("input[name=shown], input[name=text]:not([type=hidden])").forEach(function (field) { field.value = ""; });
  }
  function lost(event) {
    var form = event.detail.elt;
    if (form.matches && form.matches("form[data-keep]")) { wait(form); }
  }
  document.addEventListener("htmx:sendError", lost);
  document.addEventListener("htmx:timeout", lost);
  document.addEventListener("htmx:afterRequest", function (event) {
    var asked = event.detail.requestConfig, answer = event.detail.xhr;
    var form = asked ? asked.elt : event.detail.elt; // the form itself, also when the answer took its place
    if (!form.matches || !form.matches("form[data-keep]") || !answer || !answer.status) { return; }
    var sentOn = answer.responseURL && new URL(answer.responseURL).pathname !== form.getAttribute("action");
    if (later(answer.status) && !sentOn) { wait(form); }
    else { drop(form.dataset.sending); delete form.dataset.sending; }
  });
  function post(item, headers) {
    var stop = new AbortController();
    var clock = window.setTimeout(function () { stop.abort(); }, 15000);
    return fetch(item.url, { method: "POST", body: item.body, headers: headers, credentials: "same-origin", signal: stop.signal })
      .finally(function () { window.clearTimeout(clock); });
  }
  function later(status) { return status >= 500 || status === 429 || status === 401; }

  // Whole-page forms that change the sketch: sent here so that a lost signal loses nothing.
  document.addEventListener("submit", function (event) {
    var form = event.target;
    if (!form.matches("form[data-keep-page]") || form.dataset.plain) { return; }
    event.preventDefault();
    if (form.dataset.sending) { return; }
    var button = event.submitter;
    var data = new FormData(form);
    if (button && button.name) { data.set(button.name, button.value); }
    var item = sketchItem(form, data);
    if (!item) { return; }
    form.dataset.sending = item.key;
    keep(item);
    post(item, FORM)
      .then(function (answer) {
        delete form.dataset.sending;
        if (later(answer.status) && !answer.redirected) { mark(item.key, { waits: true }); return; }
        drop(item.key);
        if (answer.ok || answer.redirected) {
          location.assign(answer.url + (answer.url.indexOf("circuit=") > 0 ? "#circuit-open" : ""));
          if (answer.url.split("#")[0] === location.href.split("#")[0]) { location.reload(); }
          return;
        }
        form.dataset.plain = "yes"; // refused: let the program say why, on its own page
        form.requestSubmit(button);
      })
      .catch(function () { delete form.dataset.sending; mark(item.key, { waits: true }); });
  });
  function sketchItem(form, data) {
    var url = form.getAttribute("action"), about = data.get("circuit") || "";
    var before = unsent().find(function (item) { return item.url === url && item.about === about && about; });
    if (before) {
      var was = new URLSearchParams(before.body).get("op") || "", op = data.get("op") || "";
      var moves = function (name) { return name !== "" && name !== "done"; };
      if (moves(was) && moves(op)) {
        say("A change of this sketch waits to be sent. Names and lengths can be changed; move or add rows once it is sent.");
        return null;
      }
      if (moves(was)) { data.set("op", was); }
    }
    data.set("key", before ? before.key : freshKey());
    return { key: data.get("key"), url: url, body: body(data), at: "", about: about, words: form.dataset.keepPage, waits: false };
  }

  // Send what waits, one after another, in its order.
  function send() {
    var items = unsent().filter(function (item) { return item.waits && !item.refused; });
    if (sending || items.length === 0 || navigator.onLine === false) { return; }
    sending = true;
    var item = items[0];
    post(item, Object.assign({ "HX-Request": "true" }, FORM))
      .then(function (answer) {
        sending = false;
        if (later(answer.status) && !answer.redirected) { return null; }
        if (answer.ok || answer.redirected) { // sent on to another page: it was taken
          drop(item.key);
          document.dispatchEvent(new CustomEvent("halfsplit:sent", { detail: item }));
          send();
          return null;
        }
        return answer.text().then(function (text) {
          var parsed = new DOMParser().parseFromString(text, "text/html");
          var why = parsed.querySelector("#said") || parsed.body;
          mark(item.key, { refused: "not taken. " + why.textContent.trim() + " " });
          send();
        });
      })
      .catch(function () { sending = false; });
  }
  window.addEventListener("online", send);
  window.setInterval(send, 4000);
  document.addEventListener("halfsplit:show", show);
  document.addEventListener("DOMContentLoaded", function () {
    // What a page that went away had under way was perhaps sent and perhaps not: its key tells.
    store(unsent().map(function (item) { item.waits = true; return item; }));
    send();
  });
})();
