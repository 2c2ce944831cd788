import own from './own.js';
import { task } from './task.js';

console.log(await task(own));
