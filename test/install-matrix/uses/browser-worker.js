import { measure } from './browser.js';

postMessage(await measure('workers'));
