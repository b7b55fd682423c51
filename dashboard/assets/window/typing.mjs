// What is typed stays in its order. A moment after each letter Dash's text field puts the caret back to where that letter left it;
// on a slow machine the next letter has come meanwhile, and the one after it would stand before it. The browser keeps the caret
// by itself, so in these fields nobody else moves it.
document.addEventListener("focusin", ({ target }) => {
  if (target.matches("input.dash-input-element")) target.setSelectionRange = () => {};
});
