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
  last_marks: function () {
    return localStorage.getItem("shiftlog-marks") || "# This device has prompted no test yet.";
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
