/** Day, dark or night: by the reader's system until one is chosen, then remembered on this machine. */
import { element } from '../element.ts';

const themes = ['day', 'dark', 'night'] as const;
const storageName = 'holdfast theme';

export function themeTools(): HTMLElement {
  const show = (chosen: string | null) => {
    if (chosen === null) delete document.documentElement.dataset['theme'];
    else document.documentElement.dataset['theme'] = chosen;
    for (const [i, button] of buttons.entries())
      button.setAttribute('aria-pressed', String(themes[i] === chosen));
  };
  const buttons = themes.map((theme) => {
    const button = element('button', { type: 'button', class: 'quiet' }, theme);
    button.addEventListener('click', () => {
      const isChosen = document.documentElement.dataset['theme'] === theme;
      show(isChosen ? null : theme);
      remember(isChosen ? null : theme);
    });
    return button;
  });
  const remembered = recalled();
  show(themes.find((theme) => theme === remembered) ?? null);
  return element('span', { class: 'tools', role: 'group', 'aria-label': 'theme' }, ...buttons);
}

/** The store may be forbidden: then the theme lasts as long as the page. */
function remember(theme: string | null): void {
  try {
    if (theme === null) localStorage.removeItem(storageName);
    else localStorage.setItem(storageName, theme);
  } catch {}
}

function recalled(): string | null {
  try {
    return localStorage.getItem(storageName);
  } catch {
    return null;
  }
}
