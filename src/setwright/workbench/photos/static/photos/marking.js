"use strict";
/* Marking a place in a picture by dragging, or with the arrow keys. The four percentages of the form are the truth:
   this only writes them, so everything works without it too. */
(() => {
  const SVG = "http://www.w3.org/2000/svg";
  const SIDES = ["left", "top", "width", "height"];
  const STEP = 1;
  const SMALLEST = 1;

  const figure = document.querySelector("figure.photo");
  const marks = figure && figure.querySelector("svg.marks");
  const says = document.querySelector(".marking-says");
  if (!marks) return;
  const size = { width: marks.viewBox.baseVal.width, height: marks.viewBox.baseVal.height };

  let form = null; // the form that is being written, while marking
  let before = null; // its percentages as they were
  let drawn = [];

  const within = (value, low, high) => Math.min(Math.max(value, low), high);
  const field = (side) => form.elements[side];
  const words = (place) => SIDES.map((side) => `${side} ${Math.round(place[side])} %`).join(", ");

  function placeOf() {
    const read = SIDES.map((side) => parseFloat(field(side).value.replace(",", ".")));
    if (read.some((value) => !(value >= 0 && value <= 100))) return null;
    return Object.fromEntries(SIDES.map((side, i) => [side, read[i]]));
  }

  function draw(place) {
    drawn.forEach((rect) => rect.remove());
    drawn = !place ? [] : ["ground new", "mark new"].map((name) => {
      const rect = document.createElementNS(SVG, "rect");
      rect.setAttribute("class", name);
      rect.setAttribute("x", (place.left / 100) * size.width);
      rect.setAttribute("y", (place.top / 100) * size.height);
      rect.setAttribute("width", (place.width / 100) * size.width);
      rect.setAttribute("height", (place.height / 100) * size.height);
      marks.append(rect);
      return rect;
    });
  }

  function write(place) {
    const width = within(place.width, SMALLEST, 100);
    const height = within(place.height, SMALLEST, 100);
    const kept = { left: within(place.left, 0, 100 - width), top: within(place.top, 0, 100 - height), width, height };
    for (const side of SIDES) field(side).value = String(Math.round(kept[side] * 1000) / 1000);
    const asWritten = form.querySelector('input[name="part"][value=""]');
    if (asWritten) asWritten.checked = true;
    draw(kept);
    says.textContent = words(kept);
  }

  function begin(chosen) {
    if (form) end();
    form = chosen;
    before = SIDES.map((side) => field(side).value);
    figure.classList.add("marking");
    marks.removeAttribute("aria-hidden");
    marks.setAttribute("tabindex", "0");
    marks.setAttribute("role", "application");
    marks.setAttribute("aria-label", "Place to mark. Arrow keys move it, Shift and arrow keys change its size, Enter is done, Escape gives up.");
    draw(placeOf());
    figure.scrollIntoView({ block: "nearest" });
    marks.focus({ preventScroll: true });
    says.textContent = "Drag over the place, or press the arrow keys to move it and Shift with them to change its size. Enter is done, Escape gives up.";
  }

  function end(back) {
    figure.classList.remove("marking");
    marks.setAttribute("aria-hidden", "true");
    for (const name of ["tabindex", "role", "aria-label"]) marks.removeAttribute(name);
    const button = form.querySelector(back ? "button.mark-it" : 'button[type="submit"]');
    draw(null);
    form = null;
    return button;
  }

  function shareOf(event) {
    const box = marks.getBoundingClientRect();
    return {
      x: within(((event.clientX - box.left) / box.width) * 100, 0, 100),
      y: within(((event.clientY - box.top) / box.height) * 100, 0, 100),
    };
  }

  let start = null;
  marks.addEventListener("pointerdown", (event) => {
    if (!form || event.button !== 0) return;
    event.preventDefault();
    marks.setPointerCapture(event.pointerId);
    start = shareOf(event);
  });
  marks.addEventListener("pointermove", (event) => {
    if (!form || !start) return;
    const now = shareOf(event);
    write({
      left: Math.min(start.x, now.x), top: Math.min(start.y, now.y),
      width: Math.abs(now.x - start.x), height: Math.abs(now.y - start.y),
    });
  });
  const drop = () => { start = null; };
  marks.addEventListener("pointerup", drop);
  marks.addEventListener("pointercancel", drop);

  const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
  marks.addEventListener("keydown", (event) => {
    if (!form) return;
    if (event.key === "Escape") {
      SIDES.forEach((side, i) => { field(side).value = before[i]; });
      says.textContent = "Left as it was.";
      end(true).focus();
    } else if (event.key === "Enter") {
      end(false).focus();
    } else if (event.key in ARROWS) {
      const [x, y] = ARROWS[event.key];
      const place = placeOf() || { left: 35, top: 35, width: 30, height: 30 };
      write(event.shiftKey
        ? { ...place, width: within(place.width + STEP * x, SMALLEST, 100 - place.left), height: within(place.height + STEP * y, SMALLEST, 100 - place.top) }
        : { ...place, left: place.left + STEP * x, top: place.top + STEP * y });
    } else {
      return;
    }
    event.preventDefault();
  });

  for (const pin of document.querySelectorAll("form.pin")) {
    const button = document.createElement("button");
    button.type = "button";
    button.className = "mark-it";
    button.textContent = "Mark it in the picture";
    button.addEventListener("click", () => begin(pin));
    pin.querySelector(".place").prepend(button);
    pin.addEventListener("input", (event) => { if (form === pin && SIDES.includes(event.target.name)) draw(placeOf()); });
  }
})();
