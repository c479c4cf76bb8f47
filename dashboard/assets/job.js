// Sends a chosen photo to the server as it is, with what it shows, then shows the record anew.
(function () {
  function tell(text) {
    const place = document.getElementById("job-photo-said");
    if (place) {
      place.textContent = text;
    }
  }

  // Only the photo is added to the page: what is typed and not saved yet stays, and is saved over this version.
  function show(button, said) {
    const image = { type: "Img", namespace: "dash_html_components", props: {} };
    image.props = { src: "/made/photo/" + said.sha256 + ".jpg", alt: said.words };
    const caption = { type: "Figcaption", namespace: "dash_html_components", props: { children: said.words } };
    added.push({ type: "Figure", namespace: "dash_html_components", props: { children: [image, caption] } });
    window.dash_clientside.set_props("job-photos-new", { children: added.slice() });
    const seen = { job: Number(button.dataset.job), version: said.version };
    window.dash_clientside.set_props("job-choice", { data: seen });
    tell("Added, and saved as version " + said.version + ".");
  }

  let added = [];

  async function send(button, file) {
    const chosen = document.querySelector("#job-photo-of input:checked");
    const caption = document.getElementById("job-photo-caption");
    const by = document.getElementById("job-by");
    const about = new URLSearchParams({
      name: file.name,
      of: chosen ? chosen.value : "other",
      caption: caption ? caption.value : "",
      by: by ? by.value : "",
    });
    tell("Sending " + file.name + " …");
    if (file.size > 25e6) {
      tell(file.name + ": has " + Math.round(file.size / 1e6) + " MB; a photo may have 25 MB, make it smaller");
      return;
    }
    try {
      const answer = await fetch("/made/job/" + button.dataset.job + "/photo?" + about, { method: "PUT", body: file });
      const said = await answer.json();
      if (said.why) {
        tell(said.why);
        return;
      }
      show(button, said);
    } catch (error) {
      tell("The photo did not arrive: is shiftlog still running? Choose it again.");
    }
  }

  document.addEventListener("click", function (event) {
    const button = event.target instanceof Element && event.target.closest("#job-photo-choose");
    if (!button) {
      return;
    }
    if (!document.querySelector("#job-photos-new figure")) {
      added = [];
    }
    const input = document.createElement("input");
    input.type = "file";
    input.accept = "image/*";
    input.addEventListener("change", function () {
      if (input.files.length) {
        send(button, input.files[0]);
      }
    });
    input.click();
  });
})();
