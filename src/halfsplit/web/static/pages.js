// What is entered is kept by the browser until the program says that it has it.
(function () {
  "use strict";
  var SHELF = "halfsplit-unsent";
  var sending = false;

  function unsent() {
    try { return JSON.parse(localStorage.getItem(SHELF) || "[]"); } catch (error) { return []; }
  }
  function store(items) {
    try { localStorage.setItem(SHELF, JSON.stringify(items)); } catch (error) { /* full or shut */ }
    show();
  }
  function keep(item) { store(unsent().filter(function (old) { return old.key !== item.key; }).concat([item])); }
  function drop(key) { store(unsent().filter(function (old) { return old.key !== key; })); }
  function freshKey() {
    var bytes = new Uint8Array(12);
    crypto.getRandomValues(bytes);
    return Array.from(bytes, function (b) { return b.toString(16).padStart(2, "0"); }).join("");
  }
  function words(data) {
    if (data.get("saw")) { return data.get("saw"); }
    return ((data.get("pair") || "") + " " + (data.get("over") ? "over range" : data.get("shown") || "")).trim();
  }

  // Show what waits: beside its rung, and once at the top.
  function show() {
    var items = unsent();
    var line = document.getElementById("waiting");
    var waiting = items.filter(function (item) { return item.waits; });
    if (line) {
      line.hidden = waiting.length === 0;
      line.textContent = waiting.length === 0 ? "" : waiting.length +
        (waiting.length === 1 ? " entry is" : " entries are") + " kept on this device and will be sent when the program answers again.";
    }
    document.querySelectorAll("[data-kept-for]").forEach(function (list) {
      list.textContent = "";
      items.forEach(function (item) {
        if (!item.waits || item.at !== list.dataset.keptFor || item.url.indexOf(location.pathname) !== 0) { return; }
        var row = document.createElement("li");
        row.textContent = item.words + " · not sent yet";
        list.appendChild(row);
      });
    });
  }

  function say(text) {
    var box = document.getElementById("said");
    if (!box) { return; }
    var line = document.createElement("p");
    line.textContent = text;
    box.replaceChildren(line);
  }

  // Each entry has its own key, made when it is sent: a double tap or a second try is one entry.
  document.addEventListener("htmx:configRequest", function (event) {
    var form = event.detail.elt;
    if (!form.matches || !form.matches("form[data-keep]")) { return; }
    var data = event.detail.formData;
    if (!data.get("shown") && !data.get("saw") && !data.get("over") && !data.get("seen")) {
      event.preventDefault();
      say("Enter what it shows, or tap what was seen.");
      return;
    }
    var key = form.dataset.sending || freshKey();
    form.dataset.sending = key;
    data.set("key", key);
    keep({ key: key, url: form.getAttribute("action"), body: new URLSearchParams(data).toString(), at: data.get("at") || "", words: words(data), waits: false });
    if (navigator.onLine === false) {
      event.preventDefault();
      wait(key, form);
    }
  });
  function wait(key, form) {
    store(unsent().map(function (item) { if (item.key === key) { item.waits = true; } return item; }));
    if (form) {
      delete form.dataset.sending;
      var figure = form.querySelector("input[name=shown]");
      if (figure) { figure.value = ""; }
    }
  }
  function lost(event) {
    var form = event.detail.elt;
    if (form.matches && form.matches("form[data-keep]")) { wait(form.dataset.sending, form); }
  }
  document.addEventListener("htmx:sendError", lost);
  document.addEventListener("htmx:timeout", lost);
  document.addEventListener("htmx:afterRequest", function (event) {
    var form = event.detail.elt, answer = event.detail.xhr;
    if (!form.matches || !form.matches("form[data-keep]") || !answer || !answer.status) { return; }
    if (answer.status < 500 && answer.status !== 429 && answer.status !== 401) { drop(form.dataset.sending); delete form.dataset.sending; }
    else { wait(form.dataset.sending, form); }
  });

  // Send what waits, one after another, in its order.
  function send() {
    var items = unsent().filter(function (item) { return item.waits; });
    if (sending || items.length === 0 || navigator.onLine === false) { return; }
    sending = true;
    var item = items[0];
    fetch(item.url, { method: "POST", body: item.body, headers: { "Content-Type": "application/x-www-form-urlencoded", "HX-Request": "true" }, credentials: "same-origin" })
      .then(function (answer) {
        sending = false;
        if (answer.status >= 500 || answer.status === 429 || answer.status === 401) { return; }
        drop(item.key);
        if (!answer.ok) {
          return answer.text().then(function (text) {
            var parsed = new DOMParser().parseFromString(text, "text/html");
            say("Not taken: " + item.words + (item.at ? " at " + item.at : "") + ". " + parsed.body.textContent.trim());
          });
        }
        refresh();
        send();
      })
      .catch(function () { sending = false; });
  }
  function refresh() {
    var live = document.getElementById("live");
    if (live && window.htmx && !busy()) { htmx.ajax("GET", "/jobs/" + live.dataset.job, { target: "#live", swap: "innerHTML" }); }
  }
  window.addEventListener("online", send);
  window.setInterval(send, 4000);

  // Somebody is typing: what comes from others waits for its turn.
  function busy() {
    var at = document.activeElement;
    if (at && at.closest("#live") && at.matches("input:not([type=radio]):not([type=checkbox]), select, textarea")) { return true; }
    return Array.from(document.querySelectorAll("#live input[name=shown]")).some(function (field) { return field.value !== "" && field.offsetParent; });
  }
  document.addEventListener("htmx:beforeRequest", function (event) {
    if (event.detail.elt.id === "poll" && (busy() || document.hidden)) { event.preventDefault(); }
  });

  // Keep what was open open, where the eye was.
  var opened = [];
  document.addEventListener("htmx:beforeSwap", function (event) {
    if (event.detail.target.id !== "live") { return; }
    opened = Array.from(document.querySelectorAll("#live details[open].legend, #live details[open].members > summary, #live details[open].behind")).map(function (item) { return item.className; });
  });
  document.addEventListener("htmx:afterSwap", function (event) {
    if (event.detail.target.id !== "live") { return; }
    if (event.detail.requestConfig && event.detail.requestConfig.verb === "post") {
      document.getElementById("said").replaceChildren();
      var figure = document.querySelector("#open input[name=shown]");
      if (figure) { figure.focus({ preventScroll: true }); }
    }
    opened.forEach(function (name) { document.querySelectorAll("#live details").forEach(function (item) { if (item.className === name) { item.open = true; } }); });
    show();
  });

  // One rung is entered at a time, and the keypad opens at once.
  document.addEventListener("toggle", function (event) {
    var box = event.target;
    if (!box.matches || !box.matches("details.entry") || !box.open) { return; }
    document.querySelectorAll("details.entry[open]").forEach(function (other) {
      if (other !== box && !other.contains(box) && !box.contains(other)) { other.open = false; }
    });
    var figure = box.querySelector("input[name=shown]");
    if (figure) { figure.focus({ preventScroll: true }); }
  }, true);

  document.addEventListener("DOMContentLoaded", function () { show(); send(); });
})();
