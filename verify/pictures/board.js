"use strict";
(function () {
  // Light the net of a pin or wire, and say what it is.
  function tell(one) {
    const bench = one.closest(".bench");
    const says = bench && bench.querySelector(".says");
    const title = one.querySelector("title");
    if (says && title) {
      says.textContent = title.textContent;
    }
  }
  function show(one) {
    const drawn = one.ownerSVGElement;
    hide(drawn);
    const net = one.dataset.n;
    if (net !== undefined) {
      drawn.classList.add("dim");
      drawn.querySelectorAll('[data-n="' + net + '"]').forEach(function (other) {
        other.classList.add("lit");
      });
    }
    tell(one);
  }
  function hide(drawn) {
    drawn.classList.remove("dim");
    drawn.querySelectorAll(".lit").forEach(function (other) {
      other.classList.remove("lit");
    });
  }
  document.querySelectorAll(".b-pin,.b-wire").forEach(function (one) {
    one.addEventListener("mouseenter", function () {
      show(one);
    });
    one.addEventListener("mouseleave", function () {
      hide(one.ownerSVGElement);
    });
  });
  // Not of wires: what listens to the focus gets it, and there are hundreds of them.
  document.querySelectorAll(".b-pin").forEach(function (one) {
    one.addEventListener("focus", function () {
      show(one);
    });
    one.addEventListener("blur", function () {
      hide(one.ownerSVGElement);
    });
  });
  // The tabulator goes from part to part, the arrows from pin to pin, Escape back to the part.
  document.querySelectorAll(".b-part").forEach(function (part) {
    const pins = Array.from(part.querySelectorAll(".b-pin"));
    part.addEventListener("focus", function () {
      tell(part);
    });
    part.addEventListener("keydown", function (event) {
      const at = pins.indexOf(document.activeElement);
      const forward = event.key === "ArrowRight" || event.key === "ArrowDown";
      const back = event.key === "ArrowLeft" || event.key === "ArrowUp";
      if (forward || back) {
        const next = at < 0 ? (forward ? 0 : pins.length - 1) : at + (forward ? 1 : -1);
        pins[(next + pins.length) % pins.length].focus();
        event.preventDefault();
      } else if (event.key === "Escape" && at >= 0) {
        part.focus();
      }
    });
  });
})();
