// SPDX-License-Identifier: GPL-3.0-or-later
// What every screen is given.
import type { Command } from "./api";
import type { Store } from "./store";
import { words } from "./words.en";

export interface Screen { element: HTMLElement; show?: () => void; hide?: () => void }

export interface App {
    store: Store;
    /* Shows one line for a while; read out once. */
    notice(text: string): void;
    /* Sends a command; says why where it failed. True when it was done. */
    run(command: Command): Promise<boolean>;
    /* The same without a word: "" when it was done, else the line that says why not. */
    ask(command: Command): Promise<string>;
    /* Shows another screen. */
    go(screen: keyof typeof words.screens): void;
}

export function makeAsk(store: Store): (command: Command) => Promise<string> {
    return async (command) => {
        /* named also where it runs: another may have begun by the time it is heard */
        const about = store.shown !== null && RECORDING_COMMANDS.has(command.do) ? { recording: store.shown } : {};
        try {
            await store.link.send({ ...command, ...about });
            return "";
        } catch (error) {
            const text = (error as Error).message;
            return text === "no-link" ? words.entry.notLinked : text === "no-reply" ? words.entry.noReply : text;
        }
    };
}

const RECORDING_COMMANDS = new Set(["score", "end", "note", "tag", "pain", "correct", "undo"]);
