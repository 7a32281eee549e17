// Two conveniences; the page works without them.
// 1. A switch between the light and the dark page, remembered in this browser.
// 2. Every working opens for print and closes again after it.
"use strict";

const KEY = "lugbook-theme";
const root = document.documentElement;
const dark = window.matchMedia("(prefers-color-scheme: dark)");

function remembered() {
  try {
    return localStorage.getItem(KEY);
  } catch {
    return null; // storage is refused; the switch then lasts until the next page
  }
}

function remember(theme) {
  try {
    if (theme === null) localStorage.removeItem(KEY);
    else localStorage.setItem(KEY, theme);
  } catch {
    // Nothing to do: see above.
  }
}

function system() {
  return dark.matches ? "dark" : "light";
}

function shown() {
  return root.dataset.theme ?? system();
}

function show(theme) {
  if (theme === "light" || theme === "dark") root.dataset.theme = theme;
  else delete root.dataset.theme;
}

show(remembered());

document.addEventListener("DOMContentLoaded", () => {
  const button = document.querySelector("[data-theme-switch]");
  const label = () => {
    button.textContent = shown() === "dark" ? "Light page" : "Dark page";
  };
  button.addEventListener("click", () => {
    const wanted = shown() === "dark" ? "light" : "dark";
    // The system's own theme is not remembered, so that it is followed again.
    const kept = wanted === system() ? null : wanted;
    show(kept);
    remember(kept);
    label();
  });
  dark.addEventListener("change", label);
  label();
  button.hidden = false;
});

let opened = [];
window.addEventListener("beforeprint", () => {
  opened = [...document.querySelectorAll("details:not([open])")];
  for (const working of opened) working.open = true;
});
window.addEventListener("afterprint", () => {
  for (const working of opened) working.open = false;
});
