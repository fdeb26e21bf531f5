/** How the words and digits of an instrument's place are set. */
import { css } from 'lit';
import { tone } from './common.ts';

export const frameStyle = css`
  :host {
    display: flex;
    flex-direction: column;
    min-width: 0;
    min-height: 0;
    container-type: size;
  }
  h2 {
    height: 22px;
    flex: none;
    font-weight: 400;
    color: ${tone.quiet};
    padding-left: 2px;
    white-space: nowrap;
    overflow: hidden;
    text-overflow: ellipsis;
  }
  .cells {
    flex: 1;
    display: flex;
    min-height: 0;
    min-width: 0;
  }
  .cell {
    position: relative;
    flex: 1;
    min-width: 0;
    min-height: 0;
  }
  .at {
    position: absolute;
    white-space: nowrap;
    font-size: 12px;
    color: ${tone.quiet};
    line-height: 16px;
  }
  .axis {
    transform: translate(-100%, -50%);
  }
  .time {
    transform: translateX(-50%);
  }
  .time.last {
    transform: translateX(-100%);
  }
  .mid {
    transform: translate(-50%, -50%);
  }
  .lane {
    position: absolute;
    display: flex;
    flex-direction: column;
    justify-content: space-evenly;
    gap: 2px;
    color: ${tone.ink};
  }
  .member {
    display: flex;
    flex-direction: column;
    gap: 1px;
  }
  .member.tight {
    flex-direction: row;
    gap: 8px;
    align-items: center;
    --digits: 17px;
  }
  .member > * {
    flex: none;
  }
  .member > .who {
    overflow: hidden;
    flex: 0 1 auto;
    min-width: 0;
  }
  .says {
    display: flex;
    gap: 8px;
    align-items: center;
  }
  .who > b {
    flex: none;
  }
  .tight .who > b {
    flex: 0 1 auto;
    display: flex;
    min-width: 24px;
  }
  /* of a long id both ends stay in sight: what tells channels apart is often the last letter */
  .tight .who > b > .start {
    overflow: hidden;
    text-overflow: ellipsis;
  }
  .tight > .who {
    min-width: 50px;
  }
  .tight .tags,
  .tight .says {
    gap: 4px;
  }
  .who {
    display: flex;
    align-items: center;
    gap: 6px;
    font-size: 13px;
    white-space: nowrap;
  }
  .who > span {
    overflow: hidden;
    text-overflow: ellipsis;
  }
  .who svg {
    width: 18px;
    height: 4px;
    flex: none;
  }
  .head {
    position: absolute;
    top: 0;
    left: 0;
    right: 0;
    display: flex;
    gap: 5px;
    justify-content: center;
    align-items: center;
    height: 22px;
    font-size: 13px;
    white-space: nowrap;
  }
  .head:has(.tags) {
    left: -14px;
    right: -14px;
  }
  .head .tags {
    font-size: 12px;
    gap: 4px;
  }
  .head .quiet {
    overflow: hidden;
    text-overflow: ellipsis;
  }
  .foot {
    position: absolute;
    bottom: 0;
    left: 0;
    right: 0;
    display: flex;
    flex-direction: column;
    align-items: center;
    justify-content: flex-end;
    gap: 2px;
    --digits: 24px;
  }
  .values {
    position: absolute;
    display: flex;
    gap: 8px 26px;
    --digits: 20px;
  }
  .values.beside {
    flex-direction: column;
    justify-content: center;
  }
  .values.below {
    justify-content: center;
    align-items: flex-end;
  }
  .values div {
    display: flex;
    flex-direction: column;
  }
  .values.beside div {
    flex-direction: row;
    align-items: baseline;
    gap: 10px;
  }
  .values.beside .who {
    width: 66px;
  }
  @container (max-height: 120px) {
    .foot {
      --digits: 17px;
      line-height: 1;
    }
    .values.beside {
      row-gap: 1px;
      --digits: 15px;
      line-height: 1.1;
    }
  }
  .old {
    position: absolute;
    inset: 0;
    background: repeating-linear-gradient(135deg, transparent 0 9px, ${tone.frame} 9px 10.5px);
    display: flex;
    align-items: center;
    justify-content: center;
  }
  .old .word {
    font-size: 22px;
    padding: 4px 14px;
    border-width: 3px;
  }
`;
