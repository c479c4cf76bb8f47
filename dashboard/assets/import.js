// Sends chosen or dropped files to the server one after the other; the browser reads each from disk as it goes.
(function () {
  function byId(id) {
    return document.getElementById(id);
  }

  function tell(text) {
    const place = byId("import-progress");
    if (place) {
      place.textContent = text;
    }
  }

  function complain(lines) {
    const place = byId("import-faults");
    if (!place) {
      return;
    }
    place.replaceChildren();
    lines.forEach(function (line) {
      const p = document.createElement("p");
      p.className = "error";
      p.setAttribute("role", "alert");
      p.textContent = line;
      place.append(p);
    });
  }

  async function put(address, body) {
    const answer = await fetch(address, { method: "PUT", body: body });
    return answer.json();
  }

  function size(bytes) {
    return bytes < 1e6 ? Math.ceil(bytes / 1e3) + " kB" : (bytes / 1e6).toFixed(1) + " MB";
  }

  async function send(files, token) {
    const faults = [];
    let sent = 0;
    try {
      const home = token || (await put("/incoming", "")).token;
      for (const [number, file] of files.entries()) {
        tell("Copying " + file.name + " (" + size(file.size) + "), " + (number + 1) + " of " + files.length + " …");
        const answer = await put("/incoming/" + home + "/" + encodeURIComponent(file.name), file);
        if (answer.why) {
          faults.push(answer.why);
        } else {
          sent += 1;
        }
      }
      tell("");
      complain(faults);
      if (sent) {
        sessionStorage.setItem("import-faults", JSON.stringify({ token: home, faults: faults }));
        window.location.assign("/import/" + home);
      }
    } catch (error) {
      tell("");
      complain(["The files did not arrive: is shiftlog still running? Choose them again."]);
    }
  }

  function tokenHere() {
    const match = window.location.pathname.match(/^\/import\/([0-9a-f]{16})$/);
    return match ? match[1] : "";
  }

  document.addEventListener("click", function (event) {
    if (!(event.target instanceof Element) || !event.target.closest("#import-choose")) {
      return;
    }
    const input = document.createElement("input");
    input.type = "file";
    input.multiple = true;
    input.addEventListener("change", function () {
      send(Array.from(input.files), tokenHere());
    });
    input.click();
  });

  ["dragover", "drop"].forEach(function (kind) {
    document.addEventListener(kind, function (event) {
      if (!byId("import-choose") || !event.dataTransfer || !Array.from(event.dataTransfer.types).includes("Files")) {
        return;
      }
      event.preventDefault();
      if (kind === "drop" && event.dataTransfer.files.length) {
        send(Array.from(event.dataTransfer.files), tokenHere());
      }
    });
  });

  // What went wrong with single files stays on the page of those that arrived, however often it is built anew.
  new MutationObserver(function () {
    const place = byId("import-faults");
    const kept = JSON.parse(sessionStorage.getItem("import-faults") || "null");
    if (place && kept && !place.childElementCount && kept.faults.length && kept.token === tokenHere()) {
      complain(kept.faults);
    }
  }).observe(document.documentElement, { childList: true, subtree: true });
})();
