// Photographs: kept on this telephone until the server has them, sent one by one with their progress; and marked.
(function () {
  "use strict";

  // ---- sending
  var form = document.querySelector("form[data-queue]");
  var holder = document.getElementById("queue");

  function opened(then) {
    var asked = window.indexedDB.open("photographs", 1);
    asked.onupgradeneeded = function () { asked.result.createObjectStore("waiting", { keyPath: "id", autoIncrement: true }); };
    asked.onsuccess = function () { then(asked.result); };
    asked.onerror = function () { then(null); };
  }
  function all(base, then) {
    var asked = base.transaction("waiting").objectStore("waiting").getAll();
    asked.onsuccess = function () { then(asked.result.filter(function (one) { return one.to === location.pathname; })); };
  }
  function forget(base, id, then) {
    var change = base.transaction("waiting", "readwrite");
    change.objectStore("waiting").delete(id);
    change.oncomplete = then;
  }
  function line(words) {
    holder.hidden = false;
    var row = document.createElement("div");
    row.className = "note";
    var text = document.createElement("p");
    text.textContent = words;
    row.appendChild(text);
    holder.appendChild(row);
    return row;
  }
  function button(row, words, act) {
    var made = document.createElement("button");
    made.type = "button"; made.className = "quiet"; made.textContent = words;
    made.addEventListener("click", act);
    row.appendChild(made);
  }

  function send(base, waiting, position, kept) {
    if (position >= waiting.length) {
      if (kept) { location.hash = "taken"; location.reload(); }
      return;
    }
    var one = waiting[position];
    var name = "Photograph " + (position + 1) + " of " + waiting.length;
    var row = line(name + ": sending");
    var bar = document.createElement("progress");
    bar.max = 100; bar.value = 0; bar.setAttribute("aria-label", name);
    row.appendChild(bar);
    var say = function (words) { row.firstChild.textContent = words; bar.remove(); };
    var body = new FormData();
    body.append("csrfmiddlewaretoken", form.elements.csrfmiddlewaretoken.value);
    ["about", "moment", "note", "author"].forEach(function (field) { body.append(field, one[field]); });
    body.append("photo", one.file, "photograph");
    var request = new XMLHttpRequest();
    request.open("POST", location.pathname);
    request.setRequestHeader("X-Sent-By", "queue");
    request.upload.onprogress = function (event) {
      if (!event.lengthComputable) { return; }
      bar.value = Math.round(100 * event.loaded / event.total);
      row.firstChild.textContent = name + (event.loaded < event.total ? ": " + bar.value + " of 100 sent" : ": sent, being looked at");
    };
    request.onload = function () {
      if (request.status === 200) {
        forget(base, one.id, function () { row.remove(); send(base, waiting, position + 1, kept + 1); });
      } else if (request.status === 401) {
        say(name + ": waits on this telephone. Sign in again, then it is sent.");
        var link = document.createElement("a");
        link.className = "go quiet"; link.href = location.pathname; link.textContent = "Sign in";
        row.appendChild(link);
      } else {
        var told;
        try { told = JSON.parse(request.responseText).problems.join(" "); } catch (error) { told = "The server could not take it."; }
        say(name + " was not taken: " + told);
        button(row, "Try again", retry);
        button(row, "Forget it", function () { forget(base, one.id, function () { row.remove(); }); });
      }
    };
    request.onerror = function () {
      say((waiting.length - position) + " not sent yet: the server does not answer. They wait on this telephone, also when this page is closed.");
      button(row, "Send again", retry);
      window.setTimeout(function () { if (row.isConnected) { retry(); } }, 15000);
    };
    request.send(body);
  }
  function retry() {
    holder.textContent = "";
    opened(function (base) { if (base) { all(base, function (waiting) { send(base, waiting, 0, 0); }); } });
  }

  if (form && window.indexedDB && window.FormData) {
    form.addEventListener("submit", function (event) {
      var files = [];
      form.querySelectorAll("input[type=file]").forEach(function (field) { files = files.concat(Array.from(field.files)); });
      if (!files.length) { return; }
      event.preventDefault();
      var fields = {};
      ["about", "moment", "note", "author"].forEach(function (name) { fields[name] = form.elements[name].value; });
      opened(function (base) {
        if (!base) { form.submit(); return; }
        var change = base.transaction("waiting", "readwrite");
        files.forEach(function (file) {
          change.objectStore("waiting").add({ to: location.pathname, file: file, about: fields.about, moment: fields.moment, note: fields.note, author: fields.author });
        });
        change.oncomplete = function () {
          form.querySelectorAll("input[type=file]").forEach(function (field) { field.value = ""; });
          retry();
        };
        change.onerror = change.onabort = function () { form.submit(); };
      });
    });
    opened(function (base) {
      if (base) { all(base, function (waiting) { if (waiting.length) { send(base, waiting, 0, 0); } }); }
    });
  }

  // ---- marking
  var picture = document.getElementById("photo");
  var marking = document.getElementById("mark-form");
  if (!picture || !marking) { return; }
  var cross = document.getElementById("cross");
  var size = picture.viewBox.baseVal;
  document.getElementById("how").hidden = false;
  function show() {
    var x = size.width * marking.elements.across.value / 1000, y = size.height * marking.elements.down.value / 1000;
    var arm = size.width / 14, gap = size.width / 90;
    var path = "M" + (x - arm) + " " + y + "H" + (x - gap) + "M" + (x + gap) + " " + y + "H" + (x + arm) +
      "M" + x + " " + (y - arm) + "V" + (y - gap) + "M" + x + " " + (y + gap) + "V" + (y + arm);
    cross.querySelectorAll("path").forEach(function (line) { line.setAttribute("d", path); });
    cross.setAttribute("visibility", "visible");
  }
  picture.addEventListener("click", function (event) {
    var box = picture.getBoundingClientRect();
    marking.elements.across.value = Math.round(1000 * (event.clientX - box.left) / box.width);
    marking.elements.down.value = Math.round(1000 * (event.clientY - box.top) / box.height);
    show();
  });
  ["across", "down"].forEach(function (name) { marking.elements[name].addEventListener("input", show); });
})();
