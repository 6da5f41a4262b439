// The quiz: the outcome is hidden, a question asked, the run played, the answer judged.

const quiz = { on: false, stage: "off", reply: "", right: 0, asked: 0 };

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

// The question of a run with a button for every answer.
function fillQuestion(run, answered) {
  element("asked").textContent = run.question;
  element("answers").replaceChildren();
  run.answers.forEach((answer, i) => {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = `${i + 1} ${answer}`;
    button.addEventListener("click", () => answered(answer));
    element("answers").append(button);
  });
}

function verdictOf(run) {
  if (quiz.stage === "none") {
    return "No question: there is no answer to this run.";
  }
  if (quiz.stage === "play") {
    return `Your answer: ${quiz.reply}. Now look.`;
  }
  if (quiz.stage !== "judged") {
    return "";
  }
  const judged = quiz.reply === run.answer ? "Right" : `Not so, you said: ${quiz.reply}`;
  const reason = run.reason ? `: ${run.reason.replace(/\.$/, "")}` : "";
  return `${judged}. Here: ${run.answer}${reason}. ${quiz.right} of ${quiz.asked} right.`;
}
