// Timers for the ground run: they go on when the page is closed, and write minutes into their field.
(function () {
  "use strict";
  var store = null;
  try { store = window.localStorage; store.getItem("probe"); } catch (refused) { store = null; }
  var names = { erect: "Attitude erecting", drift: "Heading drift", soak: "Heat soak" };
  document.querySelectorAll(".timer").forEach(function (holder) {
    var key = "timer " + location.pathname + holder.dataset.timer;
    var until = Number(holder.dataset.until);
    var words = document.createElement("output"), button = document.createElement("button");
    button.type = "button"; button.className = "quiet";
    holder.append(words, button);
    holder.hidden = false;
    var begun = store ? Number(store.getItem(key)) : 0, told = false, tick = 0;
    function minutes() { return (Date.now() - begun) / 60000; }
    function show() {
      if (!begun) { words.textContent = names[holder.dataset.timer] + ": " + until + " min"; button.textContent = "Start the watch"; return; }
      var seconds = Math.floor((Date.now() - begun) / 1000);
      words.textContent = names[holder.dataset.timer] + ": " + Math.floor(seconds / 60) + ":" + String(seconds % 60).padStart(2, "0") +
        (minutes() >= until ? ", " + until + " minutes are over" : "");
      button.textContent = "Stop";
      if (minutes() >= until && !told) { told = true; if (navigator.vibrate) { navigator.vibrate([400, 200, 400]); } }
    }
    function run() { window.clearInterval(tick); tick = window.setInterval(show, 1000); show(); }
    button.addEventListener("click", function () {
      if (!begun) { begun = Date.now(); told = false; if (store) { store.setItem(key, String(begun)); } run(); return; }
      var field = holder.dataset.field && document.getElementById(holder.dataset.field);
      if (field) { field.value = minutes().toFixed(1); field.dispatchEvent(new Event("input", { bubbles: true })); }
      window.clearInterval(tick);
      begun = 0;
      if (store) { store.removeItem(key); }
      show();
    });
    if (begun) { run(); } else { show(); }
  });
})();
