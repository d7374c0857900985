// The living page: what is being typed stays, what was open stays open, the next field is ready.
(function () {
  "use strict";

  function refresh() {
    var live = document.getElementById("live");
    if (live && window.htmx && !busy()) { htmx.ajax("GET", "/jobs/" + live.dataset.job, { target: "#live", swap: "innerHTML" }); }
  }
  document.addEventListener("halfsplit:sent", function (event) {
    if (document.getElementById("live")) { refresh(); }
    else if (event.detail.url.indexOf("/sketch") > 0 && location.pathname.indexOf("/sketch") > 0) { location.reload(); }
  });

  // Somebody is typing: what comes from others waits for its turn, but for an alarm.
  function busy() {
    var at = document.activeElement;
    if (at && at.closest("#live") && at.matches("input:not([type=radio]):not([type=checkbox]):not([name=shown]), select, textarea")) { return true; }
    return Array.from(document.querySelectorAll("#live input[name=shown], #live #note-text")).some(function (field) { return field.value !== "" && field.offsetParent; });
  }
  document.addEventListener("htmx:beforeRequest", function (event) {
    if (event.detail.elt.id === "poll" && document.hidden) { event.preventDefault(); }
  });
  function alarms(text) { return text.indexOf('class="alarm"') > 0 && !document.querySelector("#live .alarm"); }

  // The page one is on is seen among the tabs.
  var tab = document.querySelector(".tabs [aria-current]");
  if (tab) { tab.parentNode.scrollLeft = tab.offsetLeft - (tab.parentNode.clientWidth - tab.offsetWidth) / 2; }

  // Say when what is shown may be old.
  function answering(yes) {
    var line = document.getElementById("silent");
    if (!line || line.hidden === yes) { return; }
    line.hidden = yes;
    if (!yes) { line.textContent = "The program does not answer. What is shown is as it was at " + seen + "."; }
    else { seen = clock(); }
  }
  function clock() { return new Date().toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" }); }
  var seen = clock();
  document.addEventListener("htmx:sendError", function () { answering(false); });
  document.addEventListener("htmx:timeout", function () { answering(false); });
  document.addEventListener("htmx:afterRequest", function (event) {
    if (event.detail.xhr && event.detail.xhr.status && event.detail.xhr.status < 500) { answering(true); seen = clock(); }
  });

  // Keep what was open open, where the eye was.
  var opened = [], entry = null;
  document.addEventListener("htmx:beforeSwap", function (event) {
    if (event.detail.target.id !== "live") { return; }
    var asked = event.detail.requestConfig || {}, form = document.querySelector("#live details.entry[open][data-place] > form");
    if (asked.elt && asked.elt.id === "poll" && busy() && !alarms(event.detail.serverResponse || "")) { event.detail.shouldSwap = false; return; }
    entry = asked.verb === "get" && form ? { box: form.parentNode.dataset, said: Array.from(new FormData(form)), at: form.contains(document.activeElement) } : null;
    opened = Array.from(document.querySelectorAll("#live details[open].legend, #live details[open].current, #live details[open].behind")).map(function (item) { return item.className; });
  });
  document.addEventListener("htmx:afterSwap", function (event) {
    if (event.detail.target.id !== "live") { return; }
    if (event.detail.requestConfig && event.detail.requestConfig.verb === "post") {
      document.getElementById("said").replaceChildren();
      var first = document.querySelector("#live .suspects .says"), alarm = document.getElementById("alarm-h");
      document.getElementById("heard").textContent = "Entered. " + (alarm ? alarm.textContent : first ? "Likeliest: " + first.firstChild.textContent + ", " + first.parentNode.querySelector(".chance").textContent : "");
      var figure = document.querySelector("#open input[name=shown]");
      if (figure) { figure.focus({ preventScroll: true }); }
    }
    opened.forEach(function (name) { document.querySelectorAll("#live details").forEach(function (item) { if (item.className === name) { item.open = true; } }); });
    if (entry) { reopen(entry); }
    document.dispatchEvent(new CustomEvent("halfsplit:show"));
  });

  // What was being entered on a rung is there again, with what was chosen and typed.
  function reopen(was) {
    var box = Array.from(document.querySelectorAll("#live details.entry[data-place]")).find(function (one) { return one.dataset.place === was.box.place && one.dataset.circuit === was.box.circuit; });
    if (!box) { return; }
    if (!box.querySelector("form")) { furnish(box); }
    box.open = true;
    was.said.forEach(function (pair) {
      box.querySelectorAll('[name="' + pair[0] + '"]').forEach(function (field) {
        if (field.type === "radio" || field.type === "checkbox") { if (field.value === pair[1]) { field.checked = true; } }
        else if (field.name === "shown" || field.name === "to") { field.value = pair[1]; }
      });
    });
    if (!was.at && document.activeElement) { document.activeElement.blur(); }
  }

  // One rung is entered at a time, and the keypad opens at once.
  document.addEventListener("toggle", function (event) {
    var box = event.target;
    if (!box.matches || !box.matches("details.entry") || !box.open) { return; }
    document.querySelectorAll("details.entry[open]").forEach(function (other) {
      if (other !== box && !other.contains(box) && !box.contains(other)) { other.open = false; }
    });
    if (!box.querySelector("form")) { furnish(box); }
    var figure = box.querySelector("input[name=shown]");
    if (figure) { figure.focus({ preventScroll: true }); }
    var form = box.querySelector("form");
    if (form) { form.scrollIntoView({ block: "nearest" }); }
  }, true);

  // One form serves every rung: its place, its pairs of terminals and its circuit are put in here.
  function furnish(box) {
    var pattern = document.getElementById("circuit" in box.dataset ? "entry-board" : "entry-point");
    if (!pattern) { return; }
    var form = pattern.content.firstElementChild.cloneNode(true), place = box.dataset.place;
    var pairs = (box.dataset.pairs || "").trim().split(" ").map(function (both) { return both.split("="); });
    var first = form.querySelector("input[name=pair]").parentNode;
    pairs.forEach(function (pair, k) {
      var chip = first.cloneNode(true);
      chip.querySelector("input").value = pair[0];
      chip.querySelector("input").checked = k === 0;
      chip.querySelector("span").textContent = pair[1];
      first.parentNode.insertBefore(chip, first);
    });
    first.remove();
    form.elements.at.value = place;
    form.elements.pairs.value = pairs.map(function (pair) { return pair[0]; }).join(" ");
    form.elements.shown.setAttribute("aria-label", "What it shows at " + place);
    if (form.elements.circuit) { form.elements.circuit.value = box.dataset.circuit; }
    Array.from(form.elements.to.options).forEach(function (other) { if (other.value === place) { other.remove(); } });
    box.appendChild(form);
    window.htmx.process(form);
  }

  // While the thumb is on its way to Enter, what it typed is weighed already; nothing is kept.
  var due = 0, weighed = "", weighing = false, entering = false;
  document.addEventListener("htmx:beforeRequest", function (event) { if (event.detail.elt.matches("form[data-keep]")) { entering = true; } });
  document.addEventListener("htmx:afterRequest", function () { entering = false; });
  function weigh(event) {
    var form = event.target.closest && event.target.closest("form[data-keep=reading]");
    if (!form || event.target.name === "to") { return; }
    window.clearTimeout(due);
    due = window.setTimeout(function () { ask(form); }, event.type === "input" && event.target.name === "shown" ? 250 : 30);
  }
  function ask(form) {
    var sent = new FormData(form);
    sent.delete("key");
    var body = new URLSearchParams(sent).toString();
    if (weighing || entering || body === weighed || navigator.onLine === false) { return; }
    weighing = true;
    weighed = body;
    fetch(form.getAttribute("action").replace(/readings$/, "ahead"), { method: "POST", body: body, headers: { "Content-Type": "application/x-www-form-urlencoded" } })
      .catch(function () { weighed = ""; })
      .then(function () { weighing = false; if (form.isConnected && form.contains(document.activeElement)) { ask(form); } });
  }
  ["focusin", "input", "change"].forEach(function (name) { document.addEventListener(name, weigh); });

  // What the browser keeps of this page follows what is read and entered on it.
  var keeping = 0;
  document.addEventListener("htmx:afterSwap", function (event) {
    var worker = navigator.serviceWorker && navigator.serviceWorker.controller;
    if (event.detail.target.id !== "live" || !worker) { return; }
    window.clearTimeout(keeping);
    keeping = window.setTimeout(function () { worker.postMessage({ seen: location.href }); }, 2500);
  });
  document.cookie = "halfsplit-script=yes; path=/; SameSite=Strict; max-age=31536000"; // the next check may come after the ladder

  // A page seen before opens without a signal, where the browser allows it: here, or over https.
  if ("serviceWorker" in navigator && window.isSecureContext) { navigator.serviceWorker.register("/sw.js").catch(function () { /* the next page tries again */ }); }
})();
