/** What is wider than the page scrolls in a box of its own, by the keyboard too. */
export function ownScroll<Box extends HTMLElement>(box: Box): Box {
  box.classList.add('own-scroll');
  new ResizeObserver(() => {
    if (box.scrollWidth > box.clientWidth) box.tabIndex = 0;
    else box.removeAttribute('tabindex');
  }).observe(box);
  return box;
}
