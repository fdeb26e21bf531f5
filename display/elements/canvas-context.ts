/** The one canvas of the window, for the frames that stand on it. */
import { createContext } from '@lit/context';
import type { InstrumentCanvas } from '../instruments/canvas.ts';

export interface CanvasHost {
  canvas: InstrumentCanvas;
  /** the element whose corner is the canvas's corner */
  origin: HTMLElement;
}

export const canvasContext = createContext<CanvasHost>('groundchase canvas');
