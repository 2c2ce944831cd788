/** Whether a part of the page is on the screen. */

/** @param nearPx  what is so far beyond the edge of the screen counts as seen, CSS px */
export function sightOf(part: Element, nearPx = 0, changed: () => void = () => {}): () => boolean {
  let isSeen = false;
  new IntersectionObserver(
    (entries) => {
      isSeen = entries[entries.length - 1].isIntersecting;
      changed();
    },
    { rootMargin: `${nearPx}px` },
  ).observe(part);
  return () => isSeen;
}
