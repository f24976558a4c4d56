// @ts-check
import './frame.js';
