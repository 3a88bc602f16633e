// On paper what is folded away stands open: some browsers leave it out whatever the style sheet says.

let opened = [];

addEventListener("beforeprint", () => {
  opened = [...document.querySelectorAll("details:not([open])")];
  for (const one of opened) one.open = true;
});
addEventListener("afterprint", () => {
  for (const one of opened) one.open = false;
  opened = [];
});
