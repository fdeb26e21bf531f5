// A worker thread inherits no TypeScript loader: this brings it, then the worker itself.
import { register } from 'tsx/esm/api';

register();
await import('./report-worker.ts');
