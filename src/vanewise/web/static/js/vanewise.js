// Small helps; every page works without them.
(function () {
  "use strict";

  // Questions that depend on another answer are hidden while they do not apply. "" stands for don't know.
  function fold() {
    document.querySelectorAll("[data-asked-when]").forEach(function (row) {
      var other = document.querySelector("[name='" + row.dataset.askedWhen + "']");
      if (!other) { return; }
      var words = row.dataset.askedWords.split("|");
      row.hidden = words.indexOf(other.value || "don't know") < 0;
    });
  }
  document.addEventListener("change", fold);
  fold();

  // Where working out takes a moment, the button says so and cannot be pressed twice.
  document.addEventListener("submit", function (event) {
    var button = event.submitter;
    if (!button || !button.dataset.wait) { return; }
    window.setTimeout(function () { button.disabled = true; button.textContent = button.dataset.wait; }, 0);
  });
  window.addEventListener("pageshow", function (event) { if (event.persisted) { location.reload(); } });

  // What is typed is kept on this telephone until it was sent and taken, so that a reload or a lost server costs nothing.
  var store = null;
  try { store = window.localStorage; store.getItem("probe"); } catch (refused) { store = null; }
  if (store) {
    // A form that was taken is answered by a redirect; a refusal, a sign-in page and a lost server are not.
    var sent = store.getItem("sent"), came = performance.getEntriesByType("navigation")[0];
    if (sent && came && came.redirectCount > 0 && !document.getElementById("problems")) { store.removeItem(sent); }
    store.removeItem("sent");
    document.querySelectorAll("form[data-draft]").forEach(function (form) {
      var key = "draft " + location.pathname + " " + form.dataset.draft;
      var fields = function () {
        return Array.prototype.filter.call(form.elements, function (field) {
          return field.name && !/^(hidden|file|password|submit|button)$/.test(field.type);
        });
      };
      var kept = JSON.parse(store.getItem(key) || "{}");
      if (!document.getElementById("problems") && !form.querySelector(".trouble")) {
        fields().forEach(function (field) {
          if (!(field.name in kept) || kept[field.name] === "") { return; }
          if (field.type === "checkbox" || field.type === "radio") {
            field.checked = [].concat(kept[field.name]).indexOf(field.value) >= 0;
          } else if (!field.value || field.dataset.free !== undefined) { field.value = kept[field.name]; }
        });
        fold();
      }
      form.addEventListener("input", function () {
        var now = {};
        fields().forEach(function (field) {
          if (field.type === "checkbox" || field.type === "radio") {
            if (field.checked) { now[field.name] = [].concat(now[field.name] || [], field.value); }
          } else { now[field.name] = field.value; }
        });
        store.setItem(key, JSON.stringify(now));
      });
      form.addEventListener("submit", function () { store.setItem("sent", key); });
    });
  }

  // A plot to touch, over the drawn one, where the script is there.
  document.querySelectorAll("[data-plot]").forEach(function (holder) {
    if (!window.uPlot) { return; }
    var given = JSON.parse(document.getElementById(holder.dataset.plot).textContent);
    var drawn = holder.querySelector("svg");
    var css = getComputedStyle(document.documentElement);
    var colour = function (name) { return css.getPropertyValue(name).trim(); };
    var strokes = { ink: colour("--ink"), blue: colour("--blue"), rust: colour("--rust") };
    var series = [{ label: given.x, value: function (_, v) { return v == null ? "–" : given.dates ? new Date(v * 1000).toISOString().slice(0, 10) : v.toLocaleString("en-US") + " " + given.xunit; } }];
    given.series.forEach(function (one) {
      series.push({
        label: one.label, stroke: strokes[one.stroke], width: one.points ? 0 : (one.width || 2), dash: one.dash, spanGaps: true,
        points: { show: !!one.points, size: 10, width: 2.5, fill: one.points === "dot" ? colour("--rust") : colour("--card") },
        value: function (_, v) { return v == null ? "–" : v.toFixed(given.digits) + " " + given.yunit; }
      });
    });
    var axis = function (label) {
      return { label: label, stroke: strokes.ink, grid: { stroke: colour("--rule"), width: 1 }, ticks: { stroke: colour("--rule") },
        font: "14px " + colour("--sans"), labelFont: "600 14px " + colour("--sans") };
    };
    var options = {
      width: holder.clientWidth, height: Math.min(380, Math.max(280, holder.clientWidth * 0.7)),
      scales: { x: { time: !!given.dates }, y: { range: given.range } }, series: series,
      bands: given.band ? [{ series: given.band, fill: "rgba(10,74,130,.16)" }] : [],
      axes: [axis(given.xunit ? given.x + " (" + given.xunit + ")" : given.x), axis(given.y + " (" + given.yunit + ")")],
      cursor: { drag: { x: false, y: false } }, legend: { show: holder.clientWidth > 600 }
    };
    var plot = new window.uPlot(options, given.data, holder);
    if (drawn) { drawn.remove(); }
    window.addEventListener("resize", function () { plot.setSize({ width: holder.clientWidth, height: options.height }); });
  });
})();
