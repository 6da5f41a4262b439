// The quiz: the outcome is hidden, a question asked, the run played, the answer judged.

const quiz = { on: false, stage: "off", reply: "", right: 0, asked: 0 };
const WORDS = {
  rights: "she rights",
  stays: "she stays heeled",
  lolls: "she lolls",
  capsizes: "she capsizes",
};

// Until the answer is judged: outcome, names, and what lies ahead in time.
const hidesOutcome = () => quiz.stage === "ask" || quiz.stage === "play";

// The stage of the quiz for the run now chosen: a question, where the run has an answer.
function ask(run) {
  quiz.reply = "";
  quiz.stage = !quiz.on ? "off" : run.answer ? "ask" : "none";
}

function say(answer) {
  quiz.reply = answer;
  quiz.stage = "play";
}

function tell(run) {
  quiz.stage = "judged";
  quiz.asked += 1;
  quiz.right += quiz.reply === run.answer ? 1 : 0;
}

function verdictOf(run) {
  if (quiz.stage === "none") {
    return "No question: this run was not run or not solved.";
  }
  if (quiz.stage === "play") {
    return `Your answer: ${WORDS[quiz.reply]}. Now look.`;
  }
  if (quiz.stage !== "judged") {
    return "";
  }
  const judged = quiz.reply === run.answer ? "Right" : `Not so, you said: ${WORDS[quiz.reply]}`;
  const score = `${quiz.right} of ${quiz.asked} right`;
  return `${judged}. Here ${WORDS[run.answer]}: ${run.reason}. ${score}.`;
}
