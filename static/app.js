// What scripts add to pages that work without them: minus and plus buttons,
// a seconds timer, a warning before unsaved words are lost, a print button.
"use strict";
(() => {
  const all = {
    en: { less: "Less", more: "More", start: "Start timer", stop: "Stop timer" },
    es: { less: "Menos", more: "Más", start: "Iniciar tiempo", stop: "Parar tiempo" },
  };
  const words = all[document.documentElement.lang.slice(0, 2)] || all.en;
  const each = (choice, act) => document.querySelectorAll(choice).forEach(act);

  const button = (kind, text, name, act) => {
    const made = document.createElement("button");
    made.type = "button";
    made.className = kind;
    made.textContent = text;
    if (name) made.setAttribute("aria-label", name);
    made.addEventListener("click", act);
    return made;
  };
  const tell = (input) => input.dispatchEvent(new Event("input", { bubbles: true }));
  const labelOf = (input) => input.labels[0].firstChild.textContent.trim();
  const spoken = (control) => {
    const place = document.createElement("span");
    place.className = "unseen";
    place.setAttribute("role", "status");
    control.append(place);
    return place;
  };

  each("[data-step]", (control) => {
    const input = control.querySelector("input");
    const size = Number(control.dataset.step);
    const said = spoken(control);
    const move = (by) => () => {
      const typed = input.value.trim();
      // Words in the field are the person's own: they stay.
      if (typed !== "" && !/^\d+$/.test(typed)) return;
      input.value = String(Math.max(0, Number(typed) + by));
      said.textContent = input.value;
      tell(input);
    };
    const name = labelOf(input);
    input.before(button("step-button step-less", "", `${words.less}: ${name}`, move(-size)));
    input.after(button("step-button step-more", "", `${words.more}: ${name}`, move(size)));
  });

  each("[data-seconds]", (control) => {
    const input = control.querySelector("input");
    const name = labelOf(input);
    const said = spoken(control);
    let since = 0;
    let ticking = 0;
    const show = () => {
      input.value = String(Math.round((performance.now() - since) / 1000));
      tell(input);
    };
    const press = button("timer-button", words.start, `${words.start}: ${name}`, () => {
      const stopping = ticking !== 0;
      if (stopping) {
        clearInterval(ticking);
        ticking = 0;
        show();
        said.textContent = input.value;
      } else {
        // A stopped timer goes on from the seconds it shows.
        since = performance.now() - 1000 * (Number(input.value) || 0);
        ticking = setInterval(show, 1000);
      }
      const now = stopping ? words.start : words.stop;
      press.textContent = now;
      press.setAttribute("aria-label", `${now}: ${name}`);
    });
    control.append(press);
  });

  each("form[data-guard]", (form) => {
    let changed = false;
    form.addEventListener("input", () => { changed = true; });
    form.addEventListener("submit", () => { changed = false; });
    addEventListener("beforeunload", (event) => { if (changed) event.preventDefault(); });
  });

  each("[data-print]", (press) => {
    press.hidden = false;
    press.addEventListener("click", () => print());
  });

  document.getElementById("mend")?.focus();
})();
