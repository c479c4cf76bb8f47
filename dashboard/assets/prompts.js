// Prompts through a guided test: what to do now, how long, by voice or beeps, and when each step was.
// Needs nothing but this page, so it goes on when the server cannot be reached.
(function () {
  const LEAD_S = 5; // for hands to get to the lever, before the first step of each test
  const TICK_MS = 50;
  const WARNING_S = 3; // seconds ticked off at the end of a step
  const LONG_STEP_S = 5; // shorter steps have no room for ticks
  const ASLEEP_S = 2; // a prompt that comes later than this came from a device that slept meanwhile
  const KEPT = "shiftlog-kept"; // marks of every run of this tab, so that they outlive a reload
  const OPEN = "shiftlog-open"; // marks of the run that goes on
  const STEP_HZ = 880;
  const TICK_HZ = 440;
  const END_HZ = 1320;

  const kept = JSON.parse(recall(KEPT) || "[]"); // one recording often holds several runs
  let run = null;
  let rest = null; // what a stopped run left to do
  let mode = "voice";
  let sound = null;

  function byId(id) {
    return document.getElementById(id);
  }

  function put(id, text) {
    const place = byId(id);
    if (place && place.textContent !== text) {
      place.textContent = text;
    }
  }

  function show(id, yes) {
    const place = byId(id);
    if (place) {
      place.hidden = !yes;
    }
  }

  // A browser that keeps nothing throws here: then marks live as long as the page.
  function recall(key) {
    try {
      return sessionStorage.getItem(key);
    } catch (error) {
      return null;
    }
  }

  function remember(store, key, text) {
    try {
      if (text) {
        window[store].setItem(key, text);
      } else {
        window[store].removeItem(key);
      }
    } catch (error) {
      // Nothing is kept beyond this page.
    }
  }

  // Voice and beeps

  function canSpeak() {
    return "speechSynthesis" in window && window.speechSynthesis.getVoices().length > 0;
  }

  function speak(text) {
    if (mode !== "voice" || !canSpeak()) {
      return;
    }
    if (window.speechSynthesis.speaking) {
      window.speechSynthesis.cancel();
    }
    const words = new SpeechSynthesisUtterance(text);
    words.lang = "en-GB";
    words.rate = 1.1;
    window.speechSynthesis.speak(words);
  }

  function wake() {
    const Context = window.AudioContext || window.webkitAudioContext;
    if (Context && !sound) {
      sound = new Context();
    }
    if (sound && sound.state === "suspended") {
      sound.resume();
    }
  }

  function beep(hertz, length_s) {
    if (mode === "silent" || !sound) {
      return;
    }
    const tone = sound.createOscillator();
    const loud = sound.createGain();
    const now = sound.currentTime;
    tone.frequency.value = hertz;
    loud.gain.setValueAtTime(0.0001, now);
    loud.gain.exponentialRampToValueAtTime(0.4, now + 0.01);
    loud.gain.setValueAtTime(0.4, now + length_s - 0.02);
    loud.gain.exponentialRampToValueAtTime(0.0001, now + length_s);
    tone.connect(loud).connect(sound.destination);
    tone.start(now);
    tone.stop(now + length_s);
  }

  function tellMode() {
    const means = {
      voice: canSpeak()
        ? "Each step is spoken, after a beep at the instant it begins."
        : "This device has no voice to speak with: beeps instead.",
      beep: "A beep as each step begins, ticks before a long one ends.",
      silent: "No sound: watch the screen, or let somebody read it out.",
    };
    const wakeful = "wakeLock" in navigator ? "" : " Keep the screen from going to sleep: here no page can.";
    put("prompt-means", means[mode] + wakeful);
  }

  // The screen stays on where the device allows it.
  async function keepAwake() {
    try {
      run.lock = await navigator.wakeLock.request("screen");
    } catch (error) {
      run.lock = null;
    }
  }

  // The plan: every step of every round of every test, each test after a lead of its own.

  function planned(tests) {
    const plan = [];
    tests.forEach(function (test, number) {
      plan.push({ test: number, round: 0, say: test.title, do: "Get ready.", seconds: LEAD_S, lead: true });
      for (let round = 1; round <= test.repeats; round += 1) {
        test.steps.forEach(function (step, index) {
          plan.push(Object.assign({ test: number, round: round, step: index + 1, lead: false }, step));
        });
      }
    });
    return plan;
  }

  function elapsed() {
    return (performance.now() - run.zero) / 1000;
  }

  // What is left of a stopped run: from the step where each is a span of its own, else from its round's first one.
  function left() {
    const item = run.plan[run.at];
    const alike = function (one) {
      return one.test === item.test && one.round === item.round && !one.lead;
    };
    const from = item.lead || isStepwise(run.tests[item.test]) ? run.at : run.plan.findIndex(alike);
    const lead = run.plan.find(function (one) {
      return one.lead && one.test === item.test;
    });
    return run.plan[from].lead ? run.plan.slice(from) : [lead].concat(run.plan.slice(from));
  }

  function isStepwise(test) {
    return test.steps.some(function (step) {
      return step.marks;
    });
  }

  function begin(plan) {
    const panel = byId("prompts");
    const tests = JSON.parse(panel.dataset.tests);
    const chosen = byId("prompt-configuration");
    wake();
    rest = null;
    run = {
      panel: panel,
      tests: tests,
      configuration: chosen ? chosen.value : "",
      plan: plan || planned(tests),
      at: -1,
      zero: performance.now(),
      clock: Date.now(),
      planned_s: 0,
      done: [],
      stopped: false,
      timer: window.setInterval(tick, TICK_MS),
      lock: null,
    };
    if (navigator.wakeLock) {
      keepAwake();
    }
    show("prompt-start", false);
    show("prompt-go-on", false);
    show("prompt-stop", true);
    show("prompt-done", false);
    panel.classList.add("running");
    byId("prompt-stop").scrollIntoView({ block: "nearest" });
    byId("prompt-stage").scrollIntoView({ block: "nearest" });
    go(0);
  }

  function go(at_s) {
    const now_s = elapsed();
    close(now_s);
    run.at += 1;
    if (run.at >= run.plan.length) {
      finish("Done.");
      return;
    }
    const item = run.plan[run.at];
    run.planned_s = at_s;
    run.ticked = 0;
    run.open = { item: item, from_s: now_s };
    beep(STEP_HZ, 0.15);
    speak(item.say);
    draw(item);
  }

  function close(now_s) {
    if (run.open && !run.open.item.lead) {
      run.done.push({ item: run.open.item, from_s: run.open.from_s, to_s: now_s });
      remember("sessionStorage", OPEN, marks());
    }
    run.open = null;
  }

  function tick() {
    if (!run) {
      return;
    }
    if (!run.panel.isConnected) {
      stop();
      return;
    }
    const item = run.open.item;
    // Some devices stop the one clock while they sleep, and not the other.
    const slept_s = (Date.now() - run.clock) / 1000 - elapsed();
    if (item.seconds === null) {
      run.zero -= slept_s > ASLEEP_S ? 1000 * slept_s : 0;
      put("prompt-count", "");
      return;
    }
    const left_s = run.planned_s + item.seconds - elapsed();
    if (left_s < -ASLEEP_S || slept_s > ASLEEP_S) {
      run.open = null; // nobody knows what became of the step that was slept through
      run.stopped = true;
      finish("Stopped: this device fell asleep.");
      return;
    }
    if (left_s <= 0.001) {
      go(run.planned_s + item.seconds);
      return;
    }
    const whole = Math.ceil(left_s);
    put("prompt-count", String(whole));
    if (item.seconds >= LONG_STEP_S && whole <= WARNING_S && run.ticked !== whole) {
      run.ticked = whole;
      beep(TICK_HZ, 0.08);
    }
  }

  function draw(item) {
    const test = run.tests[item.test];
    const next = run.plan[run.at + 1];
    const rounds = item.lead ? test.steps.length + " steps" : "round " + item.round + " of " + test.repeats;
    put("prompt-where", test.title + ", " + rounds);
    put("prompt-say", item.say);
    put("prompt-do", item.do);
    put("prompt-count", item.seconds === null ? "" : String(Math.ceil(item.seconds)));
    put("prompt-next-up", next ? "Then: " + next.say : "Then: the end");
    show("prompt-next", item.seconds === null);
  }

  function next() {
    if (run && run.open && run.open.item.seconds === null) {
      go(elapsed());
    }
  }

  function stop() {
    if (run) {
      close(elapsed());
      run.stopped = true;
      finish(run.done.length ? "Stopped. What was done until then is marked." : "Stopped before the first step.");
    }
  }

  function goOn() {
    if (rest && !run) {
      begin(rest);
    }
  }

  function offerRest(offered) {
    rest = offered;
    if (rest) {
      const first = rest[1];
      const many = first.test > 0 || first.round > 1 || first.step > 1;
      put("prompt-go-on", "Go on at round " + first.round + ", " + first.say);
      show("prompt-go-on", many);
    }
  }

  function end() {
    window.clearInterval(run.timer);
    if (run.lock) {
      run.lock.release();
    }
    if ("speechSynthesis" in window) {
      window.speechSynthesis.cancel();
    }
    run.panel.classList.remove("running");
    run = null;
  }

  function finish(said) {
    const text = run.done.length ? marks() : "";
    const offered = run.stopped ? left() : null;
    const here = run.panel.isConnected; // nothing sounds on another page
    if (here) {
      beep(END_HZ, 0.6);
    }
    put("prompt-where", "");
    put("prompt-say", said);
    put("prompt-do", "");
    put("prompt-count", "");
    put("prompt-next-up", "");
    show("prompt-next", false);
    show("prompt-stop", false);
    show("prompt-start", true);
    put("prompt-ended", said + " On the drive's page, under “Mark a test”, take these marks.");
    if (text) {
      kept.push(text);
    }
    keep();
    end();
    offerRest(offered);
    if (here) {
      speakEnd(said);
    }
  }

  function keep() {
    const place = byId("prompt-marks");
    if (place) {
      place.value = kept.join("\n");
    }
    show("prompt-done", kept.length > 0);
    remember("sessionStorage", OPEN, "");
    remember("sessionStorage", KEPT, kept.length ? JSON.stringify(kept) : "");
    remember("localStorage", "shiftlog-marks", kept.join("\n"));
    send(kept.join("\n"));
  }

  // To the server, from which the drive's page takes them on any device; tried again with the next run or page.
  async function send(text) {
    remember("localStorage", "shiftlog-unsent", text ? "yes" : "");
    try {
      const answer = await fetch("/prompted/" + device(), { method: "PUT", body: text });
      if (answer.ok) {
        remember("localStorage", "shiftlog-unsent", "");
        put("prompt-sent", text ? "The workshop's server has them." : "");
        return;
      }
    } catch (error) {
      // Said below.
    }
    put("prompt-sent", "The server cannot be reached: they are kept on this device alone.");
  }

  function device() {
    let name = null;
    try {
      name = localStorage.getItem("shiftlog-device");
    } catch (error) {
      // Then it has a new name for each run.
    }
    if (!name) {
      const drawn = crypto.getRandomValues(new Uint8Array(8));
      name = Array.from(drawn, function (one) {
        return one.toString(16).padStart(2, "0");
      }).join("");
      remember("localStorage", "shiftlog-device", name);
    }
    return name;
  }

  // Marks of runs before, and of one that a reload cut off.
  function takeUp() {
    const cut = run ? "" : recall(OPEN);
    if (cut) {
      kept.push(cut);
      put("prompt-say", "The page was left in the middle of a test.");
      put("prompt-ended", "What was done until then is marked: on the drive's page, under “Mark a test”, take it.");
    }
    if (kept.length) {
      keep();
    }
  }

  function forget() {
    kept.length = 0;
    keep();
    put("prompt-say", "Marks forgotten.");
  }

  function speakEnd(said) {
    window.setTimeout(function () {
      speak(said);
    }, 0);
  }

  // Marks as TOML: seconds since the first step, which has this device's clock beside it.

  function iso(milliseconds) {
    const when = new Date(milliseconds);
    const minutes = -when.getTimezoneOffset();
    const two = function (value) {
      return String(Math.floor(Math.abs(value))).padStart(2, "0");
    };
    const local = new Date(milliseconds + minutes * 60000).toISOString().slice(0, 23);
    return local + (minutes < 0 ? "-" : "+") + two(minutes / 60) + ":" + two(Math.abs(minutes) % 60);
  }

  function marks() {
    const first_s = run.done[0].from_s;
    const since = function (value_s) {
      return (value_s - first_s).toFixed(3);
    };
    const clock = function (value_s) {
      return iso(Math.round(run.clock + value_s * 1000));
    };
    const lines = [
      "# Marks of a guided test, by the clock of the device that prompted.",
      "# start_s and end_s count from `began`; in drive.toml they count in drive time.",
      "[marks]",
      "began = " + clock(first_s),
    ];
    run.tests.forEach(function (test, number) {
      const mine = run.done.filter(function (one) {
        return one.item.test === number;
      });
      if (!mine.length) {
        return;
      }
      // Where steps are spans of their own, each is one; else the whole test is, from its first step to its last.
      const own = mine.filter(function (one) {
        return one.item.marks;
      });
      const spans = isStepwise(test) ? own : [{ from_s: mine[0].from_s, to_s: mine[mine.length - 1].to_s, item: {} }];
      spans.forEach(function (span) {
        const configuration = span.item.marks || test.configuration || run.configuration;
        lines.push("", "[[test]]", 'kind = "' + test.kind + '"');
        lines.push("start_s = " + since(span.from_s), "end_s = " + since(span.to_s));
        if (configuration) {
          lines.push("configuration = " + JSON.stringify(configuration));
        }
      });
      if (run.stopped && run.plan[run.at] && run.plan[run.at].test === number) {
        lines.push("# stopped early");
      }
      mine.forEach(function (one) {
        const span = since(one.from_s) + " to " + since(one.to_s) + " s, " + clock(one.from_s) + " to " + clock(one.to_s);
        lines.push("# " + span + ", round " + one.item.round + ": " + one.item.say);
      });
    });
    return lines.join("\n") + "\n";
  }

  async function copy() {
    const place = byId("prompt-marks");
    place.select();
    try {
      await navigator.clipboard.writeText(place.value);
    } catch (error) {
      document.execCommand("copy"); // pages that do not come over https have no clipboard
    }
    put("prompt-ended", "Copied.");
  }

  function download() {
    const link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([byId("prompt-marks").value], { type: "text/plain" }));
    link.download = "marks.toml";
    link.click();
    URL.revokeObjectURL(link.href);
  }

  function chooseMode(button) {
    mode = button.dataset.mode;
    document.querySelectorAll("#prompts [data-mode]").forEach(function (one) {
      const on = one === button;
      one.className = on ? "unit on" : "unit";
      one.setAttribute("aria-pressed", String(on));
    });
    tellMode();
  }

  function passenger(button) {
    const on = button.getAttribute("aria-pressed") !== "true";
    button.setAttribute("aria-pressed", String(on));
    button.classList.toggle("quiet", !on);
  }

  function start() {
    const asked = byId("prompt-passenger");
    if (asked && asked.getAttribute("aria-pressed") !== "true") {
      put("prompt-say", "Who holds this device?");
      put("prompt-do", "Only a passenger may. Press “A passenger holds this device”, then start before setting off.");
      return;
    }
    if (!run) {
      begin(null);
    }
  }

  const actions = {
    "prompt-start": start,
    "prompt-next": next,
    "prompt-stop": stop,
    "prompt-go-on": goOn,
    "prompt-copy": copy,
    "prompt-download": download,
    "prompt-forget": forget,
    "prompt-passenger": passenger,
    "guide-print": function () {
      window.print();
    },
  };

  document.addEventListener("click", function (event) {
    const target = event.target instanceof Element ? event.target : null;
    const button = target && target.closest("button");
    if (button && button.dataset.mode) {
      chooseMode(button);
    } else if (button && actions[button.id]) {
      actions[button.id](button);
    } else if (target && target.closest("#prompt-stage")) {
      next();
    }
  });

  document.addEventListener("keydown", function (event) {
    if (!run || (event.target instanceof Element && event.target.closest("button, input, textarea, select, a"))) {
      return;
    }
    if (event.key === "Escape") {
      stop();
    } else if (event.key === " " || event.key === "Enter") {
      event.preventDefault();
      next();
    }
  });

  // The screen's lock and the sound are lost while another page is in front.
  document.addEventListener("visibilitychange", function () {
    if (run && !document.hidden) {
      wake();
      if (navigator.wakeLock) {
        keepAwake();
      }
    }
  });

  // Voices may be known only a while after the page; and a page that is built anew begins with its first choice.
  if ("speechSynthesis" in window && window.speechSynthesis.addEventListener) {
    window.speechSynthesis.addEventListener("voiceschanged", tellMode);
  }
  new MutationObserver(function () {
    const place = byId("prompt-means");
    if (place && !place.textContent) {
      mode = "voice";
      tellMode();
      takeUp();
    }
  }).observe(document.documentElement, { childList: true, subtree: true });
})();
