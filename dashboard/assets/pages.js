// What only the browser knows: light or dark, the unit of speed it kept, and the arrow keys.
window.dash_clientside = window.dash_clientside || {};
window.dash_clientside.shiftlog = {
  scheme: function () {
    const dark = window.matchMedia("(prefers-color-scheme: dark)");
    if (!window.shiftlogFollowsScheme) {
      window.shiftlogFollowsScheme = true;
      dark.addEventListener("change", function (event) {
        window.dash_clientside.set_props("scheme", { data: event.matches ? "dark" : "light" });
      });
    }
    return dark.matches ? "dark" : "light";
  },
  kept_unit: function (_when, kept, search) {
    const asked = new URLSearchParams(search || "");
    if (kept !== "mph" || asked.has("speed") || window.shiftlogUnitAsked) {
      return window.dash_clientside.no_update;
    }
    window.shiftlogUnitAsked = true;
    return (search ? search + "&" : "?") + "speed=mph";
  },
  // Of all devices, as the one that prompts is often a phone; its own alone while the server has not got them.
  last_marks: async function () {
    const own = localStorage.getItem("shiftlog-marks");
    if (localStorage.getItem("shiftlog-unsent")) {
      return own;
    }
    try {
      const answer = await fetch("/prompted", { cache: "no-store" });
      return (answer.ok && (await answer.text())) || own || "# No device has prompted a test yet.";
    } catch (error) {
      return own || "# The server cannot be reached.";
    }
  },
};

document.addEventListener("keydown", function (event) {
  const target = event.target;
  const typing = target instanceof Element && target.closest("input, textarea, select, [contenteditable], .scroll");
  if (typing || event.altKey || event.ctrlKey || event.metaKey || event.shiftKey) {
    return;
  }
  const names = { ArrowLeft: "shift-previous", ArrowRight: "shift-next" };
  const link = names[event.key] && document.getElementById(names[event.key]);
  if (link) {
    event.preventDefault();
    link.click();
  }
});

// A finger cannot drag over the trace, as it scrolls the page; a tap on the marks' picture takes its instant.
document.addEventListener("click", function (event) {
  const picture = event.target instanceof Element && event.target.closest("#marks-picture");
  const plot = picture && picture.querySelector(".js-plotly-plot");
  if (!plot || !plot._fullLayout || !window.matchMedia("(pointer: coarse)").matches) {
    return;
  }
  const axis = plot._fullLayout.xaxis;
  const pixels = event.clientX - plot.getBoundingClientRect().left - axis._offset;
  if (pixels >= 0 && pixels <= axis._length) {
    window.dash_clientside.set_props("marks-tap", { data: { at_s: axis.p2d(pixels), tap: event.timeStamp } });
  }
});
